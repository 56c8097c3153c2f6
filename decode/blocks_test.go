package decode_test

import (
	"errors"
	"io"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"linewitness/capture"
	"linewitness/capture/file"
	"linewitness/decode"
)

// cuts gives a recording in other blocks than it was read in: of any length, at any instant.
type cuts struct {
	info   capture.Info
	all    []capture.Block // as they were read
	r      *rand.Rand
	most   capture.Tick // longest block
	at     capture.Tick // where the next one begins
	i      int          // what it begins in
	called bool
}

func readAll(t *testing.T, name string) *cuts {
	t.Helper()
	src, err := file.Open(filepath.Join("..", "fixtures", "recordings", name), nil, file.Options{FullScale: 60})
	if err != nil {
		t.Fatal(err)
	}
	defer src.Close()
	c := &cuts{info: src.Info()}
	for {
		var b capture.Block
		if err := src.Next(&b); errors.Is(err, io.EOF) {
			return c
		} else if err != nil {
			t.Fatal(err)
		}
		c.all = append(c.all, b)
	}
}

// again begins at the recording's start, in blocks of up to about so many ticks.
func (c *cuts) again(seed uint64, most capture.Tick) capture.Source {
	d := *c
	d.r, d.most, d.i, d.called = rand.New(rand.NewPCG(seed, 6)), most, 0, false
	return &d
}

func (c *cuts) Info() capture.Info { return c.info }
func (c *cuts) Close() error       { return nil }

// Next cuts the next block off what is left of the one at hand, and joins those that follow without a gap.
func (c *cuts) Next(b *capture.Block) error {
	b.Reset()
	if c.i == len(c.all) {
		return io.EOF
	}
	if !c.called {
		c.called, c.at = true, c.all[0].Start
	}
	from := &c.all[c.i]
	b.Start, b.First = c.at, standing(from, c.at)
	if c.at == from.Start {
		b.Gap = from.Gap
	}
	until := c.at + 1 + capture.Tick(c.r.Int64N(int64(c.most)))
	for {
		from = &c.all[c.i]
		last := min(until, from.End)
		part(b, from, c.at, last, last == from.End)
		c.at, b.End = last, last
		if last < from.End {
			return nil
		}
		if c.i++; c.i == len(c.all) || c.all[c.i].Gap.Present() || c.all[c.i].Start >= until {
			if c.i < len(c.all) {
				c.at = c.all[c.i].Start
			}
			return nil
		}
		c.at = c.all[c.i].Start
	}
}

// part appends what happens in [from, to), at a block's end also at its last instant.
func part(b, all *capture.Block, from, to capture.Tick, end bool) {
	in := func(at []capture.Tick) (int, int) {
		lo, _ := slices.BinarySearch(at, from)
		if n := len(b.At); n > 0 && lo < len(at) && at[lo] == b.At[n-1] {
			lo++
		}
		hi, _ := slices.BinarySearch(at, to)
		if end {
			hi = len(at)
		}
		return lo, max(lo, hi)
	}
	lo, hi := in(all.At)
	b.At, b.To = append(b.At, all.At[lo:hi]...), append(b.To, all.To[lo:hi]...)
	if len(all.Doubt) > 0 {
		b.Doubt = append(b.Doubt, all.Doubt[lo:hi]...)
	}
	lo, _ = slices.BinarySearch(all.SampleAt, from)
	hi, _ = slices.BinarySearch(all.SampleAt, to)
	if end {
		hi = len(all.SampleAt)
	}
	b.SampleAt, b.Volts = append(b.SampleAt, all.SampleAt[lo:hi]...), append(b.Volts, all.Volts[lo:hi]...)
}

// standing is the level just before an instant of a block.
func standing(b *capture.Block, at capture.Tick) capture.Level {
	if n, _ := slices.BinarySearch(b.At, at); n > 0 {
		return b.To[n-1]
	}
	return b.First
}

// However a recording is cut into blocks, the finding is the same to the bit: facts, sums, excerpts and verdict.
func TestBlocksDoNotMatter(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name string
		tap  capture.Tap
	}{
		{"meadow-bus-noise.vcd", capture.Pair}, {"heron-loop-cooling.csv", capture.LoopCurrent},
		{"bracken-line-rooms.vcd", capture.TapUnknown},
		{"alder-loop-supply-dips.wav", capture.IndoorTerminal}, {"sorrel-loop-room.wav", capture.IndoorTerminal},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			rec := readAll(t, c.name)
			opt := decode.Options{Tap: c.tap}
			want := find(t, rec.again(0, 1<<40), opt)
			if want.Link == nil || len(want.Sums) == 0 || want.Envelope.Len() < 10 {
				t.Fatal("nothing was read")
			}
			if rec.info.Volts && (want.Sums[0].Volts == nil || want.Sums[0].Volts.Rows() < 10) {
				t.Fatal("no eye in volts")
			}
			if good, _ := want.Sums[0].Phases.N(); (good > 0) != (c.name == "alder-loop-supply-dips.wav") {
				t.Errorf("%d good characters with a phase of the mains", good)
			}
			for seed := range uint64(6) {
				most := rec.info.Clock.Ticks([]float64{0.003, 0.05, 0.4, 3}[seed%4])
				got := find(t, rec.again(seed, most), opt)
				if d := cmp.Diff(want, got, cmpopts.EquateNaNs(), cmpopts.EquateEmpty(), exported); d != "" {
					t.Fatalf("seed %d, blocks up to %d ticks (-want +got):\n%.3000s", seed, most, d)
				}
			}
		})
	}
}
