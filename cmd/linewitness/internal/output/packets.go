package output

import (
	"encoding/binary"
	"math/bits"
	"strconv"

	"linewitness/capture"
	"linewitness/decode/link"
)

// packets is pcapng (IETF draft-ietf-opsawg-pcapng), little-endian: a section header, one interface of link type USER4 (151,
// private use) with nanoseconds, and an enhanced packet block a frame. A packet's bytes are the frame's characters, two octets
// each, high one first, where they have nine bits. Its time is t_s; what was read of the frame stands in its comment as the
// JSON of the other formats without hex.
type packets struct {
	start []byte
	fields
}

const (
	blockSection   = 0x0A0D0D0A
	blockInterface = 1
	blockPacket    = 6
	linkUser4      = 151

	optionEnd     = 0
	optionComment = 1 // of any block
	optionUser    = 4 // of a section: the application
	optionTime    = 9 // of an interface: digits of a second
	mostPacket    = 1 << 18
)

func (e *packets) header(dst []byte) []byte {
	b, at := beginBlock(dst, blockSection)
	b = append(b, 0x4D, 0x3C, 0x2B, 0x1A, 1, 0, 0, 0)             // byte order, version 1.0
	b = append(b, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF) // length of the section: not told
	b = appendOption(b, optionComment, "frames: bytes as packets, the rest as their comments in JSON")
	b = appendOption(b, optionUser, "linewitness")
	b = endBlock(appendOption(b, optionEnd, ""), at)
	b, at = beginBlock(b, blockInterface)
	b = append(b, linkUser4, 0, 0, 0)
	b = binary.LittleEndian.AppendUint32(b, mostPacket)
	b = appendOption(b, optionTime, "\x09")
	return endBlock(appendOption(b, optionEnd, ""), at)
}

func (e *packets) recording(name string, p *link.Profile) {
	e.fields.p = p
	e.start = append(append(e.start[:0], `{"name":`...), quoteJSON(name)...)
}

func (e *packets) frame(dst []byte, f *link.Frame, clock capture.Clock, wide bool) []byte {
	b, at := beginBlock(dst, blockPacket)
	ns := nanoseconds(f.At, clock)
	b = binary.LittleEndian.AppendUint32(b, 0)
	b = binary.LittleEndian.AppendUint32(b, uint32(ns>>32))
	b = binary.LittleEndian.AppendUint32(b, uint32(ns))
	n := uint32(len(f.Values))
	if wide {
		n *= 2
	}
	b = binary.LittleEndian.AppendUint32(b, n)
	b = binary.LittleEndian.AppendUint32(b, n)
	for _, v := range f.Values {
		if wide {
			b = append(b, byte(v>>8))
		}
		b = append(b, byte(v))
	}
	b = pad(b, int(n))
	b, comment := beginOption(b, optionComment)
	b = e.comment(b, f, clock)
	b = endOption(b, comment)
	return endBlock(appendOption(b, optionEnd, ""), at)
}

// comment is what stands in the frame's line of JSON, but for its bytes.
func (e *packets) comment(b []byte, f *link.Frame, clock capture.Clock) []byte {
	b = append(append(b, e.start...), `,"t_s":`...)
	b = appendSeconds(b, f.At, clock)
	b = append(b, `,"end_s":`...)
	b = appendSeconds(b, f.End, clock)
	b = append(b, `,"side":"`...)
	b = append(b, frameSide(f.Side)...)
	b = append(b, `","ok":`...)
	b = strconv.AppendBool(b, f.OK())
	b = append(b, `,"why":[`...)
	b = appendWhy(b, f, `"`, ",", `"`)
	b = e.appendJSON(append(b, ']'), f)
	return append(b, '}')
}

// nanoseconds is an instant in whole nanoseconds, rounded down; 0 before the axis' zero, which a packet's time cannot show.
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

func beginOption(b []byte, code uint16) (dst []byte, at int) {
	at = len(b)
	b = binary.LittleEndian.AppendUint16(b, code)
	return append(b, 0, 0), at
}

// endOption fills in its length. A comment longer than 65,535 octets cannot be told and is cut.
func endOption(b []byte, at int) []byte {
	n := min(len(b)-at-4, 1<<16-1)
	b = b[:at+4+n]
	binary.LittleEndian.PutUint16(b[at+2:], uint16(n))
	return pad(b, n)
}

func appendOption(b []byte, code uint16, value string) []byte {
	b, at := beginOption(b, code)
	return endOption(append(b, value...), at)
}

// pad fills up to four octets behind n.
func pad(b []byte, n int) []byte {
	return append(b, "\x00\x00\x00"[:(4-n%4)%4]...)
}
