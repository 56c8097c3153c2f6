package pcapng

import (
	"bytes"
	"encoding/binary"
	"io"

	"linewitness/capture/internal/record"
)

// guard hands sound packets to a reader of capture files, one block a call, and nothing else: every length is checked, and
// neither options nor interfaces reach a library that trusts them. On damage it looks for the next sound record.
type guard struct {
	win   window
	order binary.ByteOrder // of the section at hand
	out   []byte           // of the block on its way
	block []byte           // storage of out

	at      int64      // where the packet on its way stands in the file
	foreign int        // packets passed over that are no records
	links   []uint16   // link types of the section's first interfaces
	strange func(Span) // told of each damaged stretch
	cut     int64      // where the file ended inside a block; -1: on a border
	packets int
	work    int64 // bytes checked on trial in this search
}

// newGuard reads on from an offset of a file; what stands there must be the border of a block.
func newGuard(in io.Reader, off int64, strange func(Span)) *guard {
	g := &guard{win: window{in: in, off: off}, order: binary.LittleEndian, strange: strange, cut: -1}
	g.out = appendSection(nil)
	return g
}

// Read gives bytes of one block at most.
func (g *guard) Read(p []byte) (int, error) {
	for len(g.out) == 0 {
		if err := g.next(); err != nil {
			return 0, err
		}
	}
	n := copy(p, g.out)
	g.out = g.out[n:]
	return n, nil
}

// what is what a look at the file found.
type what uint8

const (
	isOther  what = iota // a block of no interest
	isRecord             // a packet with a sound record
	isBroken             // a packet whose record is not
	isNone               // no block
	isCut                // the file ends inside the block
)

// next makes out the next packet.
func (g *guard) next() error {
	for {
		n, found := g.look()
		switch found {
		case isOther:
			g.win.skip(n)
		case isRecord:
			g.take(n)
			return nil
		case isBroken:
			if g.packets > 0 && g.ours(n) {
				g.strange(Span{Offset: g.win.off, Length: int64(n)})
			} else {
				g.foreign++
			}
			g.win.skip(n)
		default:
			if len(g.win.buf) == 0 {
				if err := g.win.failed(); err != nil {
					return err
				}
				return io.EOF
			}
			if err := g.search(); err != nil {
				return err
			}
		}
	}
}

// look tells what stands at the window's beginning and how long it is.
func (g *guard) look() (n int, found what) {
	w := &g.win
	if !w.need(12) {
		return 0, isNone
	}
	order, section := g.order, binary.LittleEndian.Uint32(w.buf) == blockSection
	if section {
		switch uint32(byteOrderMagic) {
		case binary.LittleEndian.Uint32(w.buf[8:]):
			order = binary.LittleEndian
		case binary.BigEndian.Uint32(w.buf[8:]):
			order = binary.BigEndian
		default:
			return 0, isNone
		}
	}
	n = int(order.Uint32(w.buf[4:]))
	if n < 12 || n%4 != 0 || n > mostBlock {
		return 0, isNone
	}
	if !w.need(n) {
		return n, isCut
	}
	if int(order.Uint32(w.buf[n-4:])) != n {
		return 0, isNone
	}
	if section {
		g.order, g.links = order, g.links[:0]
		return n, isOther
	}
	switch order.Uint32(w.buf) {
	case blockInterface:
		if n >= 20 && len(g.links) < mostLinks {
			g.links = append(g.links, order.Uint16(w.buf[8:]))
		}
	case blockPacket:
		return n, g.packet(n)
	}
	return n, isOther
}

// packet judges the packet block of n bytes at the window's beginning. Those of a log have no options: a block that is longer
// than its packet may have a wrong length, which the next block's happens to confirm.
func (g *guard) packet(n int) what {
	data := packetData(g.order, g.win.buf[:n])
	switch _, _, err := record.Parse(data); {
	case err == nil && n == packetSize(len(data)):
		return isRecord
	case !g.ours(n):
		return isBroken
	case n != packetSize(len(data)):
		return isNone
	}
	return isBroken
}

// packetSize is the length of a log's packet block with so many bytes of data.
func packetSize(n int) int { return packetHead + (n+3)&^3 + 4 }

const mostLinks = 64 // interfaces whose link type is kept

// ours tells whether a packet of n bytes came by an interface of a log, as far as that is known.
func (g *guard) ours(n int) bool {
	face := uint32(len(g.links))
	if n >= packetHead {
		face = g.order.Uint32(g.win.buf[8:])
	}
	return face >= uint32(len(g.links)) || g.links[face] >= linkUser0 && g.links[face] < linkUser0+faces
}

// packetData is what an enhanced packet block carries; nil where its lengths don't fit.
func packetData(order binary.ByteOrder, block []byte) []byte {
	if len(block) < packetHead+4 {
		return nil
	}
	n := int64(order.Uint32(block[20:]))
	if n > int64(len(block)-packetHead-4) {
		return nil
	}
	return block[packetHead : packetHead+n]
}

// take puts the packet of n bytes on its way: its record only, in a packet of the guard's own making.
func (g *guard) take(n int) {
	w := &g.win
	rec := packetData(g.order, w.buf[:n])
	time := uint64(g.order.Uint32(w.buf[12:]))<<32 | uint64(g.order.Uint32(w.buf[16:]))
	g.block = appendPacket(g.block[:0], faceOf(record.Kind(rec[1])), time, rec)
	g.out, g.at = g.block, w.off
	g.packets++
	w.skip(n)
}

// mostWork is how many bytes a search checks on trial for each that it passes, beside a start of mostBlock: hostile files
// can hold a sound-looking packet in every other one.
const mostWork = 16

// search looks for the next sound record. The file may have ended inside of what stands here: then nothing is damaged.
func (g *guard) search() error {
	from := g.win.off
	_, found := g.look()
	torn := found == isCut || len(g.win.buf) < 12
	g.work = 2 * mostBlock
	g.win.skip(1)
	for g.candidate() {
		if g.sound() {
			g.strange(Span{Offset: from, Length: g.win.off - from})
			return nil
		}
		g.win.skip(1)
		g.work += mostWork
	}
	if err := g.win.failed(); err != nil {
		return err
	}
	if !torn {
		g.strange(Span{Offset: from, Length: g.win.off - from})
	}
	g.cut = from
	return io.EOF
}

// candidate goes on to where a packet block may begin.
func (g *guard) candidate() bool {
	for {
		if i := bytes.Index(g.win.buf, packetType); i >= 0 {
			g.win.skip(i)
			g.work += int64(mostWork * i)
			return true
		}
		g.work += int64(mostWork * len(g.win.buf))
		g.win.skip(max(0, len(g.win.buf)-len(packetType)+1))
		if !g.win.need(len(g.win.buf) + 1) {
			g.win.skip(len(g.win.buf))
			return false
		}
	}
}

var packetType = []byte{blockPacket, 0, 0, 0}

// sound tells whether a packet with a sound record begins here.
func (g *guard) sound() bool {
	w := &g.win
	if !w.need(packetHead + record.HeaderSize + 4) {
		return false
	}
	n := int(binary.LittleEndian.Uint32(w.buf[4:]))
	if n < packetHead+record.HeaderSize+4 || n%4 != 0 || n > mostBlock || int64(n) > g.work || !w.need(n) {
		return false
	}
	if int(binary.LittleEndian.Uint32(w.buf[n-4:])) != n {
		return false
	}
	data := packetData(binary.LittleEndian, w.buf[:n])
	if n != packetSize(len(data)) {
		return false
	}
	g.work -= int64(n)
	_, _, err := record.Parse(data)
	if err == nil {
		g.order = binary.LittleEndian
	}
	return err == nil
}
