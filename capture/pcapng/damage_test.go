package pcapng_test

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"slices"
	"testing"

	"linewitness/capture"
	"linewitness/capture/pcapng"
)

// survivors tells what is wrong with what a damaged log gave: each block must be an original one, in order, all of
// [0, before) and [from, ...) must be there, and gaps must cover exactly what is missing.
func survivors(got, want []capture.Block, before, from int) error {
	next := 0
	for i := range got {
		g := &got[i]
		if g.Start == g.End && len(g.At)+len(g.SampleAt)+len(g.Octets) == 0 && g.Gap.Why == capture.GapDamaged {
			k := slices.IndexFunc(want, func(w capture.Block) bool { return w.End == g.End })
			if k < next || i+1 < len(got) {
				return fmt.Errorf("block %d closes a recording that goes on: %+v", i, g)
			}
			if g.Gap.From != endOf(want, next) {
				return fmt.Errorf("lost from %d to the end, want from %d", g.Gap.From, endOf(want, next))
			}
			if next < before || k >= from {
				return fmt.Errorf("blocks %d to %d are missing, only those from %d to %d may", next, k, before, from-1)
			}
			next = k + 1
			break
		}
		k := slices.IndexFunc(want[next:], func(w capture.Block) bool { return equal(&w, g) })
		if k < 0 {
			return fmt.Errorf("block %d is none of those written: %+v", i, *g)
		}
		k += next
		gap := want[k].Gap
		if k > next {
			gap = capture.Gap{From: endOf(want, next), To: want[k].Start, Count: -1, Why: capture.GapDamaged}
			if next < before || k > from {
				return fmt.Errorf("blocks %d to %d are missing, only those from %d to %d may", next, k-1, before, from-1)
			}
		}
		if gap.From < gap.To && g.Gap != gap {
			return fmt.Errorf("block %d: gap %+v, want %+v", k, g.Gap, gap)
		}
		next = k + 1
	}
	if next < len(want) && (next < before || from < len(want)) {
		return fmt.Errorf("blocks from %d on are missing, only those from %d to %d may", next, before, from-1)
	}
	return nil
}

// endOf is where the block before the n-th one ends.
func endOf(blocks []capture.Block, n int) capture.Tick {
	if n == 0 {
		return 0
	}
	return blocks[n-1].End
}

// Whichever bit of a log is flipped: no wrong block comes, at most the one that it hits is lost, and the lost time is told.
func TestEveryBitFlipped(t *testing.T) {
	t.Parallel()
	want := made(21, 7)
	log, borders := logged(t, madeInfo, want)
	for bit := range 8 * len(log) {
		if raceEnabled && bit%7 != 0 {
			continue
		}
		data := bytes.Clone(log)
		data[bit/8] ^= 1 << (bit % 8)
		got, r, err := read(data)
		hit := slices.IndexFunc(borders, func(b int) bool { return bit/8 < b }) // 0: the head
		var format *capture.FormatError
		switch {
		case err != nil && !errors.As(err, &format):
			t.Fatalf("bit %d: %v", bit, err)
		case hit == 0 && r == nil: // without its head a log says nothing
			continue
		case hit < 0: // index or end
			hit = len(borders)
		case err != nil && hit > 0:
			t.Fatalf("bit %d in block %d: %v", bit, hit-1, err)
		}
		if err := survivors(got, want, max(hit-1, 0), max(hit, 0)); err != nil {
			t.Fatalf("bit %d, block %d: %v", bit, hit-1, err)
		}
		if lost := len(got) < len(want); lost && len(r.Damage()) == 0 {
			t.Fatalf("bit %d, block %d: damage was not told", bit, hit-1)
		}
		for _, s := range r.Damage() {
			if hit > 0 && hit < len(borders) && (s.Offset+s.Length < int64(borders[hit-1]) || s.Offset > int64(borders[hit])) {
				t.Fatalf("bit %d in block %d, bytes %d to %d: damage told at %+v", bit, hit-1, borders[hit-1], borders[hit], s)
			}
		}
	}
}

// Bytes cut out, put in or overwritten anywhere behind the head: reading goes on at the first good block.
func TestCutOutAndPutIn(t *testing.T) {
	t.Parallel()
	want := made(33, 9)
	log, borders := logged(t, madeInfo, want)
	r := rand.New(rand.NewPCG(1, 2))
	for range 3000 {
		if raceEnabled && r.IntN(8) > 0 {
			continue
		}
		at := borders[0] + r.IntN(borders[len(borders)-1]-borders[0])
		n := 1 + r.IntN(200)
		to := min(at+n, borders[len(borders)-1])
		junk := make([]byte, 1+r.IntN(100))
		for i := range junk {
			junk[i] = byte(r.IntN(7)) // looks like types and lengths more often than chance would
		}
		var data []byte
		switch r.IntN(3) {
		case 0:
			data = slices.Concat(log[:at], log[to:])
		case 1:
			data, to = slices.Concat(log[:at], junk, log[at:]), at
		default:
			data = slices.Concat(log[:at], junk[:min(len(junk), to-at)], log[at+min(len(junk), to-at):])
		}
		got, _, err := read(data)
		if err != nil {
			t.Fatalf("bytes %d to %d: %v", at, to, err)
		}
		first := slices.IndexFunc(borders, func(b int) bool { return at < b }) - 1
		last := slices.IndexFunc(borders, func(b int) bool { return to <= b })
		if err := survivors(got, want, first, max(last, first+1)); err != nil {
			t.Fatalf("bytes %d to %d: %v", at, to, err)
		}
	}
}

// Whole blocks taken out, doubled or exchanged: the sequence tells.
func TestBlocksMoved(t *testing.T) {
	t.Parallel()
	want := made(5, 8)
	log, borders := logged(t, madeInfo, want)
	part := func(i int) []byte { return log[borders[i]:borders[i+1]] }
	head, tail := log[:borders[0]], log[borders[len(want)]:]
	join := func(order ...int) []byte {
		data := bytes.Clone(head)
		for _, i := range order {
			data = append(data, part(i)...)
		}
		return append(data, tail...)
	}
	for name, c := range map[string]struct {
		data         []byte
		before, from int
	}{
		"the first one missing": {join(1, 2, 3, 4, 5, 6, 7), 0, 1},
		"two missing":           {join(0, 1, 4, 5, 6, 7), 2, 4},
		"the last one missing":  {join(0, 1, 2, 3, 4, 5, 6), 7, 8},
		"all missing":           {join(), 0, 8},
		"one doubled":           {join(0, 1, 1, 2, 3, 4, 5, 6, 7), 8, 8},
		"two exchanged":         {join(0, 1, 3, 2, 4, 5, 6, 7), 2, 3},
	} {
		got, r, err := read(c.data)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if err := survivors(got, want, c.before, c.from); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if len(r.Damage()) == 0 {
			t.Errorf("%s: damage was not told", name)
		}
	}
}

// A failing disk is not the end of a file.
func TestReadErrorIsTold(t *testing.T) {
	t.Parallel()
	log, _ := logged(t, madeInfo, made(5, 8))
	pulled := errors.New("cable pulled")
	for n := range log {
		r, err := pcapng.Open(io.MultiReader(bytes.NewReader(log[:n]), failing{pulled}), "log", pcapng.Options{})
		if err == nil {
			_, err = drain(r)
		}
		if !errors.Is(err, pulled) || pcapng.Torn(err) {
			t.Fatalf("after %d bytes: %v", n, err)
		}
	}
}

type failing struct{ err error }

func (f failing) Read([]byte) (int, error) { return 0, f.err }
