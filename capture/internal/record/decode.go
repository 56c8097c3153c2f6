package record

import (
	"fmt"

	"linewitness/capture"
)

// DecodeInto fills the part of b that the record holds. The first record of a block empties b before; one with
// FlagPart must have the span that b has. The result keeps the rules of a block; everything else is ErrContent, and
// b's content is undefined then. It allocates nothing once b's slices are large enough.
func DecodeInto(h *Header, body []byte, b *capture.Block) error {
	if !h.Kind.ofBlock() || h.Count > MaxCount || h.End < h.Start {
		return broken("a record of a block", h.Kind)
	}
	r := reader{p: body}
	if h.Flags&FlagPart == 0 {
		b.Reset()
		b.Start, b.End = h.Start, h.End
		if h.Flags&FlagGap != 0 {
			readGap(&r, b)
			if r.bad {
				return broken("a gap to the block's start", b.Gap)
			}
		}
	} else if b.Start != h.Start || b.End != h.End || h.Flags&FlagGap != 0 || h.Kind == Levels {
		return broken(fmt.Sprintf("more of the block [%d, %d]", b.Start, b.End), fmt.Sprintf("%v of [%d, %d]", h.Kind, h.Start, h.End))
	}
	var err error
	switch h.Kind {
	case Levels:
		err = readLevels(&r, h, b)
	case Volts:
		err = readVolts(&r, h, b)
	case Octets:
		err = readOctets(&r, h, b)
	}
	if err == nil && (r.bad || len(r.p) > 0) {
		err = broken(fmt.Sprintf("a body of %d %v", h.Count, h.Kind), fmt.Sprintf("%d bytes, %d of them left", len(body), len(r.p)))
	}
	return err
}

// appendGap writes a gap that ends where the block starts.
func appendGap(dst []byte, g *capture.Gap) []byte {
	dst = append(dst, byte(g.Why))
	dst = appendVarint(dst, g.Count)
	return appendUvarint(dst, uint64(g.To)-uint64(g.From))
}

func readGap(r *reader, b *capture.Block) {
	g := capture.Gap{Why: capture.GapWhy(r.byte()), Count: r.varint(), To: b.Start}
	g.From = g.To - capture.Tick(r.uvarint()) // may wrap: then it does not lie before
	r.bad = r.bad || !g.Present() || g.From >= g.To
	b.Gap = g
}
