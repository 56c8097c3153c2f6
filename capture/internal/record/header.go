package record

import (
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"

	"linewitness/capture"
)

// Version is the first byte of every record.
const Version = 1

// Limits that writer and reader keep.
const (
	HeaderSize = 40
	MaxCount   = 65536   // transitions, samples, octets or index entries a record
	MaxBody    = 4 << 20 // bytes of a body
	MaxText    = 64 << 10
)

// Kind is what a record holds.
type Kind uint8

// The kinds. Zero is none.
const (
	Head Kind = 1 + iota
	Levels
	Volts
	Octets
	Note
	Index
	End
)

var kindNames = [...]string{"no kind", "head", "levels", "volts", "octets", "note", "index", "end"}

func (k Kind) String() string {
	if int(k) < len(kindNames) {
		return kindNames[k]
	}
	return fmt.Sprintf("kind %d", uint8(k))
}

// ofBlock tells whether records of the kind hold a part of a block.
func (k Kind) ofBlock() bool { return k == Levels || k == Volts || k == Octets }

// The flags of a header.
const (
	FlagMore      uint16 = 1 << iota // another record of the same block follows
	FlagGap                          // a gap stands before the block
	FlagAlternate                    // the transitions go to and fro between two levels
	FlagPart                         // goes on with the block of the record before
	knownFlags    = FlagMore | FlagGap | FlagAlternate | FlagPart
)

// Header is what stands before a record's body. Length is the body's, in bytes.
type Header struct {
	Kind       Kind
	Flags      uint16
	Seq        uint64
	Start, End capture.Tick
	Count      uint32
	Length     uint32
}

// What Parse and the decoders find wrong; each comes wrapped with what was expected and found.
var (
	ErrDamaged = errors.New("record damaged")             // its checksum or its length does not fit
	ErrVersion = errors.New("record of another version")  // sound, but not for this program
	ErrContent = errors.New("record with broken content") // sound checksum, but not what the rules allow
)

var castagnoli = crc32.MakeTable(crc32.Castagnoli)

// checksum is CRC-32C over the header without its last field, and the body.
func checksum(p []byte) uint32 {
	return crc32.Update(crc32.Checksum(p[:HeaderSize-4], castagnoli), castagnoli, p[HeaderSize:])
}

// open appends room for a header; the body follows, then seal.
func open(dst []byte) []byte { return append(dst, make([]byte, HeaderSize)...) }

// seal fills in the header of the record that stands in p from its first byte to its last.
func seal(p []byte, h *Header) {
	h.Length = uint32(len(p) - HeaderSize)
	p[0], p[1] = Version, byte(h.Kind)
	binary.LittleEndian.PutUint16(p[2:], h.Flags)
	binary.LittleEndian.PutUint32(p[4:], h.Length)
	binary.LittleEndian.PutUint64(p[8:], h.Seq)
	binary.LittleEndian.PutUint64(p[16:], uint64(h.Start))
	binary.LittleEndian.PutUint64(p[24:], uint64(h.End))
	binary.LittleEndian.PutUint32(p[32:], h.Count)
	binary.LittleEndian.PutUint32(p[36:], checksum(p))
}

// Parse takes a record apart: p is the whole of it and no more. body is a part of p. It allocates only for errors,
// which are ErrDamaged, ErrVersion or ErrContent.
func Parse(p []byte) (h Header, body []byte, err error) {
	if len(p) < HeaderSize {
		return h, nil, fmt.Errorf("%w: expected %d bytes of header, found %d", ErrDamaged, HeaderSize, len(p))
	}
	length := binary.LittleEndian.Uint32(p[4:])
	if length > MaxBody || int(length) != len(p)-HeaderSize {
		return h, nil, fmt.Errorf("%w: expected %d bytes of body, found %d", ErrDamaged, length, len(p)-HeaderSize)
	}
	if want, got := binary.LittleEndian.Uint32(p[36:]), checksum(p); want != got {
		return h, nil, fmt.Errorf("%w: expected checksum %08x, found %08x", ErrDamaged, want, got)
	}
	h = Header{
		Kind: Kind(p[1]), Flags: binary.LittleEndian.Uint16(p[2:]), Seq: binary.LittleEndian.Uint64(p[8:]),
		Start: capture.Tick(binary.LittleEndian.Uint64(p[16:])), End: capture.Tick(binary.LittleEndian.Uint64(p[24:])),
		Count: binary.LittleEndian.Uint32(p[32:]), Length: length,
	}
	switch {
	case p[0] != Version || h.Kind > End || h.Flags&^knownFlags != 0:
		err = fmt.Errorf("%w: expected version %d, found version %d, %v, flags %04x", ErrVersion, Version, p[0], h.Kind, h.Flags)
	case h.Kind == 0:
		err = broken("a kind", h.Kind)
	case h.End < h.Start:
		err = broken(fmt.Sprintf("an end from %d on", h.Start), h.End)
	case h.Count > MaxCount:
		err = broken(fmt.Sprintf("a count up to %d", MaxCount), h.Count)
	}
	return h, p[HeaderSize:], err
}

func broken(expected string, found any) error {
	return fmt.Errorf("%w: expected %s, found %v", ErrContent, expected, found)
}
