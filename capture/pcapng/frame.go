package pcapng

import (
	"encoding/binary"
	"math/bits"

	"linewitness/capture"
	"linewitness/capture/internal/record"
)

// Codes of options (clause 3.5 of the draft, and those of its blocks).
const (
	optionEnd     = 0
	optionComment = 1
	optionName    = 2 // of an interface
	optionUser    = 4 // of a section: the application
	optionTime    = 9 // of an interface: digits of a second

	packetHead = 28 // bytes of an enhanced packet block before its data
)

var faceNames = [faces]string{"levels", "volts", "octets", "control"}

// faceOf is the interface that a kind of record belongs to.
func faceOf(k record.Kind) uint32 {
	switch k {
	case record.Levels:
		return faceLevels
	case record.Volts:
		return faceVolts
	case record.Octets:
		return faceOctets
	}
	return faceControl
}

// appendSection appends what stands before the first record: a section header and the interfaces.
func appendSection(b []byte) []byte {
	b, at := beginBlock(b, blockSection)
	b = binary.LittleEndian.AppendUint32(b, byteOrderMagic)
	b = append(b, 1, 0, 0, 0)                        // version 1.0
	b = binary.LittleEndian.AppendUint64(b, 1<<64-1) // length of the section: not told
	b = appendOption(b, optionComment, "recording of a signal line, a record a packet")
	b = appendOption(b, optionUser, "linewitness")
	b = endBlock(appendOption(b, optionEnd, ""), at)
	for i, name := range faceNames {
		b, at = beginBlock(b, blockInterface)
		b = append(b, byte(linkUser0+i), 0, 0, 0)
		b = binary.LittleEndian.AppendUint32(b, 0) // no limit to a packet's length
		b = appendOption(b, optionName, name)
		b = appendOption(b, optionTime, "\x09")
		b = endBlock(appendOption(b, optionEnd, ""), at)
	}
	return b
}

// appendPacket appends a record as an enhanced packet block; time is in nanoseconds.
func appendPacket(b []byte, face uint32, time uint64, rec []byte) []byte {
	n := uint32(len(rec))
	b, at := beginBlock(b, blockPacket)
	b = binary.LittleEndian.AppendUint32(b, face)
	b = binary.LittleEndian.AppendUint32(b, uint32(time>>32))
	b = binary.LittleEndian.AppendUint32(b, uint32(time))
	b = binary.LittleEndian.AppendUint32(b, n)
	b = binary.LittleEndian.AppendUint32(b, n)
	b = append(b, rec...)
	return endBlock(pad(b, int(n)), at)
}

// beginBlock starts a block whose length endBlock fills in.
func beginBlock(b []byte, kind uint32) (dst []byte, at int) {
	at = len(b)
	b = binary.LittleEndian.AppendUint32(b, kind)
	return append(b, 0, 0, 0, 0), at
}

func endBlock(b []byte, at int) []byte {
	n := uint32(len(b) - at + 4)
	binary.LittleEndian.PutUint32(b[at+4:], n)
	return binary.LittleEndian.AppendUint32(b, n)
}

func appendOption(b []byte, code uint16, value string) []byte {
	b = binary.LittleEndian.AppendUint16(b, code)
	b = binary.LittleEndian.AppendUint16(b, uint16(len(value)))
	return pad(append(b, value...), len(value))
}

// pad fills up to four bytes behind n.
func pad(b []byte, n int) []byte { return append(b, "\x00\x00\x00"[:(4-n%4)%4]...) }

// nanoseconds is an instant in whole nanoseconds from the axis' zero, rounded down; 0 before it.
func nanoseconds(t capture.Tick, c capture.Clock) uint64 {
	if t < 0 || !c.Valid() {
		return 0
	}
	// t * Den * 1e9 / Num in 128 bits: days of a fine clock do not fit into 64.
	hi, lo := bits.Mul64(uint64(t), uint64(c.Den))
	if hi != 0 {
		return 1<<64 - 1
	}
	hi, lo = bits.Mul64(lo, 1e9)
	if hi >= uint64(c.Num) {
		return 1<<64 - 1
	}
	q, _ := bits.Div64(hi, lo, uint64(c.Num))
	return q
}
