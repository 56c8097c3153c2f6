package pcapng_test

import (
	"bytes"
	"math/rand/v2"
	"slices"
	"testing"

	"linewitness/capture"
	"linewitness/capture/pcapng"
)

// What OpenAt gives is a suffix of what Open gives, but for the first gap; it holds every block that ends after from.
func TestOpenAtGivesTheRest(t *testing.T) {
	t.Parallel()
	bad := map[string]int{}
	for seed := range uint64(80) {
		r := rand.New(rand.NewPCG(seed, 1))
		l := rBegin(rMeta(), 0)
		l.noIdx = r.IntN(2) == 0
		at := capture.Tick(0)
		for range 1 + r.IntN(40) {
			b := &capture.Block{Start: at, First: capture.Low}
			if r.IntN(3) == 0 {
				b.Start += 50
				b.Gap = capture.Gap{From: at, To: b.Start, Count: 1, Why: capture.GapPaused}
			}
			b.End = b.Start + capture.Tick(1+r.IntN(100))
			for j := range r.IntN(20) {
				b.SampleAt, b.Volts = append(b.SampleAt, b.Start+capture.Tick(j)), append(b.Volts, r.Float64())
			}
			if n := len(b.SampleAt); n > 0 {
				b.End = max(b.End, b.SampleAt[n-1])
			}
			at = b.End
			l.block(t, b)
		}
		l.end()
		data := slices.Clone(l.data)
		for range r.IntN(4) {
			k := int(l.head) + r.IntN(len(data)-int(l.head))
			switch r.IntN(3) {
			case 0:
				data[k] ^= 1 << r.IntN(8)
			case 1:
				data = slices.Delete(data, k, min(len(data), k+1+r.IntN(100)))
			default:
				data = data[:k]
			}
			if len(data) <= int(l.head) {
				break
			}
		}
		all := rRead(t, data)
		for range 10 {
			from := capture.Tick(r.IntN(int(at) + 20))
			rd, err := pcapng.OpenAt(bytes.NewReader(data), int64(len(data)), "r.pcapng", from)
			if err != nil {
				bad["open"]++
				continue
			}
			got := rDrain(t, rd)
			i := len(all.blocks) - len(got.blocks)
			if i < 0 {
				bad["more blocks than Open gives"]++
				continue
			}
			want := slices.Clone(all.blocks[i:])
			if len(want) > 0 {
				if g := got.blocks[0].Gap; g.Present() && i > 0 && g.From < all.blocks[i-1].End {
					bad["first gap reaches into a good block before"]++
				}
				want[0].Gap = got.blocks[0].Gap
			}
			if rDiff(want, got.blocks) != "" {
				bad["no suffix"]++
			} else if i > 0 && all.blocks[i-1].End > from {
				bad["a good block that ends after from is missing"]++
			}
			if (got.err == nil) != (all.err == nil) || got.err.Error() != all.err.Error() {
				bad["other end"]++
				if bad["other end"] < 4 {
					t.Logf("seed %d from %d: %v / %v", seed, from, got.err, all.err)
				}
			}
		}
	}
	if len(bad) > 0 {
		t.Errorf("%v of 15000", bad)
	}
}
