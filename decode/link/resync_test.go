package link_test

import (
	"math/rand/v2"
	"slices"
	"testing"

	"linewitness/decode/checksum"
	"linewitness/decode/link"
)

// The same bound for lines made to be hard: all start marks, lengths that always reach just too far, ends without number.
func TestHostileLinesAreBounded(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(7, 7))
	length := &link.Profile{Framing: link.Framing{Gap: handGap, Start: marks(0xAA), Length: &link.Length{At: 1}}, Checksum: sum(t,
		"sum8", 0, -1)}
	bare := &link.Profile{Framing: link.Framing{Gap: handGap, Length: &link.Length{At: 0}}, Checksum: sum(t, "fletcher16", 0, -2)}
	fixed := &link.Profile{Framing: link.Framing{Gap: handGap, Fixed: 2000}, Checksum: sum(t, "xor8", 0, -1)}
	open := &link.Profile{Framing: link.Framing{Gap: handGap, Start: marks(0xAA)}, Checksum: sum(t, "sum8", 0, -1)}
	both := &link.Profile{Framing: link.Framing{Gap: handGap, Start: marks(0xAA), End: marks(0x16)}, Checksum: sum(t, "sum8", 0, -2)}
	coded := &link.Profile{Framing: link.Framing{Gap: handGap, Start: marks(0xAA), Length: &link.Length{At: 1}, Coding: link.CodingEscape,
		Escape: link.Escape{Mark: 0x7D, Xor: 0x20}}, Checksum: sum(t, "sum8", 0, -1)}
	for _, p := range []*link.Profile{length, bare, fixed, open, both, coded} {
		for _, few := range [][]uint16{{0xAA}, {0xAA, 0xFF}, {0xFE, 0xFF}, {0xAA, 0x16}, {0xAA, 0xAA, 0xAA, 0xAA, 0x16}, {0, 1, 2, 0xAA},
			{0x7D, 0xAA, 0xF0}} {
			for _, n := range []int{1, 7, 30, 100, 600, 5000, 20000} {
				v := make([]uint16, n)
				for i := range v {
					v[i] = few[r.IntN(len(few))]
				}
				chars, b := byHand(v...)
				checkCut(t, p, &chars, &b)
			}
		}
	}
}

// A frame that loses a character costs no other frame: of 128 characters without marks, and
// of short ones.
func TestFoundAgainAfterALoss(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(3, 4))
	for _, size := range []int{5, 12, 40, 128} {
		crc := sum(t, "crc16 poly=0x8005 init=0xFFFF refin=true refout=true xorout=0x0000", 0, -2)
		p := &link.Profile{Framing: link.Framing{Gap: handGap, Fixed: size}, Checksum: crc}
		for range 20 {
			const frames = 6
			var v []uint16
			lost := r.IntN(frames)
			for i := range frames {
				b := make([]byte, size)
				for k := range b {
					b[k] = byte(r.IntN(256))
				}
				if !crc.Put(b) {
					t.Fatal("no room")
				}
				if i == lost {
					k := r.IntN(size)
					b = slices.Delete(b, k, k+1)
				}
				for _, o := range b {
					v = append(v, uint16(o))
				}
			}
			if fitting(crc, v, size) != frames-1 {
				continue // another place fits by accident
			}
			good, bad := 0, 0
			for _, f := range cutOne(p, v) {
				if f.OK() {
					good++
				} else {
					bad++
				}
			}
			if good != frames-1 || bad != 1 {
				t.Errorf("%d characters, frame %d of %d lost one: %d good, %d bad: %s", size, lost, frames, good, bad, shown(cutOne(p, v)))
			}
		}
	}
}

// fitting is at how many places of v a frame of this size has a right sum.
func fitting(s *checksum.Spec, v []uint16, size int) (n int) {
	b := packet(v, false)
	for ; len(b) >= size; b = b[1:] {
		if ok, _, _, _ := s.Verify(b[:size]); ok {
			n++
		}
	}
	return n
}
