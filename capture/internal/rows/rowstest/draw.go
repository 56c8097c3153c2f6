// Package rowstest draws recordings for the tests of writers, and compares what was written with what is read back.
package rowstest

import (
	"io"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"linewitness/capture"
	"linewitness/capture/capturetest"
)

// Shape is what a recording may have.
type Shape struct {
	Levels, Volts bool
	Kinds         []capture.Level  // of levels
	Why           []capture.GapWhy // of gaps
	Least         capture.Tick     // where it may start
	OnSamples     bool             // where there are both, transitions stand at samples only
}

// Draw draws a recording twice: in as few blocks as there can be, and cut at drawn places. Every block after a gap
// starts with a sample, as those of all readers do.
func (s *Shape) Draw(t *rapid.T) (whole, cut []capture.Block) {
	at := s.Least + capture.Tick(rapid.Int64Range(0, 5).Draw(t, "start"))
	pieces := rapid.IntRange(1, 4).Draw(t, "pieces")
	lostAtLast := rapid.Bool().Draw(t, "lost at last")
	for i := range pieces {
		var gap capture.Gap
		if i > 0 || rapid.Bool().Draw(t, "lost at first") {
			to := at + capture.Tick(rapid.Int64Range(1, 2_000_000_000).Draw(t, "lost"))
			gap = capture.Gap{From: at, To: to, Count: -1, Why: rapid.SampledFrom(s.Why).Draw(t, "why")}
			at = to
		}
		b := s.piece(t, at, i == pieces-1 && !lostAtLast)
		b.Gap = gap
		whole = append(whole, b)
		cut = append(cut, split(t, b)...)
		at = b.End
	}
	if lostAtLast {
		b := capture.Block{Start: at + 7, End: at + 7}
		b.Gap = capture.Gap{From: at, To: at + 7, Count: -1, Why: rapid.SampledFrom(s.Why).Draw(t, "why")}
		whole, cut = append(whole, b), append(cut, b)
	}
	return whole, cut
}

// piece is a block from start on. Something may stand at its very end only if nothing is lost there.
func (s *Shape) piece(t *rapid.T, start capture.Tick, last bool) capture.Block {
	b := capture.Block{Start: start}
	if s.Levels {
		b.First = rapid.SampledFrom(s.Kinds).Draw(t, "first")
	}
	if s.Volts {
		b.SampleAt, b.Volts = append(b.SampleAt, start), append(b.Volts, volts(t))
	}
	at := start
	for range rapid.IntRange(0, 6).Draw(t, "events") {
		at += step(t)
		sampled := s.Volts && (!s.Levels || rapid.Bool().Draw(t, "sampled"))
		if sampled {
			b.SampleAt, b.Volts = append(b.SampleAt, at), append(b.Volts, volts(t))
		}
		if to := rapid.SampledFrom(append(s.Kinds, b.Last())).Draw(t, "to"); s.Levels && to != b.Last() && (sampled || !s.OnSamples || !s.Volts) {
			b.At, b.To = append(b.At, at), append(b.To, to)
		}
	}
	b.End = at
	if !last || rapid.Bool().Draw(t, "rest") {
		b.End += step(t)
	}
	return b
}

func step(t *rapid.T) capture.Tick {
	return capture.Tick(rapid.Int64Range(1, 3_000_000_000).Draw(t, "step"))
}

func volts(t *rapid.T) float64 {
	return rapid.OneOf(rapid.Float64(), rapid.SampledFrom([]float64{0, 1, -0.1, 23.8, 1e-5, 1e21, 5e-324})).Draw(t, "volts")
}

// split cuts a block in two where that can be done.
func split(t *rapid.T, b capture.Block) []capture.Block {
	if b.End-b.Start < 2 || !rapid.Bool().Draw(t, "cut") {
		return []capture.Block{b}
	}
	at := b.Start + capture.Tick(rapid.Int64Range(1, int64(b.End-b.Start)-1).Draw(t, "cut at"))
	if n := len(b.At); n > 0 && rapid.Bool().Draw(t, "cut at a transition") && b.At[n/2] < b.End {
		at = b.At[n/2]
	}
	head, tail := b, capture.Block{Start: at, End: b.End}
	head.End = at
	i, j := 0, 0
	for i < len(b.At) && b.At[i] <= at {
		i++
	}
	for j < len(b.SampleAt) && b.SampleAt[j] <= at {
		j++
	}
	head.At, head.To, head.SampleAt, head.Volts = b.At[:i:i], b.To[:i:i], b.SampleAt[:j:j], b.Volts[:j:j]
	tail.At, tail.To, tail.SampleAt, tail.Volts = b.At[i:], b.To[i:], b.SampleAt[j:], b.Volts[j:]
	tail.First = head.Last()
	return []capture.Block{head, tail}
}

// Source gives blocks.
type Source struct {
	info   capture.Info
	blocks []capture.Block
}

// NewSource gives those blocks.
func NewSource(info capture.Info, blocks []capture.Block) *Source { return &Source{info, blocks} }

// Info describes the recording.
func (s *Source) Info() capture.Info { return s.info }

// Close does nothing.
func (s *Source) Close() error { return nil }

// Next copies the next block.
func (s *Source) Next(b *capture.Block) error {
	if len(s.blocks) == 0 {
		return io.EOF
	}
	s.blocks[0].CopyTo(b)
	s.blocks = s.blocks[1:]
	return nil
}

// Writer is what is tested.
type Writer interface {
	Write(*capture.Block) error
	Close() error
	Left() []string
}

// Write writes blocks; whatever goes wrong or is left out fails the test.
func Write(t *rapid.T, w Writer, err error, blocks []capture.Block) {
	for i := range blocks {
		if err == nil {
			err = w.Write(&blocks[i])
		}
	}
	if err == nil {
		err = w.Close()
	}
	if err != nil {
		t.Fatalf("%v, for %s", err, Content(t, NewSource(capture.Info{}, blocks)))
	}
	if left := w.Left(); len(left) > 0 {
		t.Fatalf("left out: %q", left)
	}
}

// Content is all of a source.
func Content(t rapid.TB, s capture.Source) *capturetest.Content {
	c, err := capturetest.Collect(s)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// Diff compares contents however they are cut.
func Diff(want, got *capturetest.Content) string {
	return cmp.Diff(want, got, cmpopts.IgnoreFields(capturetest.Content{}, "Blocks"), cmpopts.EquateEmpty())
}

// Short is an output that takes so many bytes and then fails, silently where it has no error.
type Short struct {
	Left int
	Err  error
}

func (s *Short) Write(p []byte) (int, error) {
	n := min(len(p), s.Left)
	s.Left -= n
	if n < len(p) {
		return n, s.Err
	}
	return n, nil
}

// Allocs tests that blocks are written without allocation once the buffers stand.
func Allocs(t *testing.T, w Writer, next func() *capture.Block) {
	t.Helper()
	write := func() {
		if err := w.Write(next()); err != nil {
			t.Fatal(err)
		}
	}
	write()
	if n := testing.AllocsPerRun(20, write); n != 0 {
		t.Errorf("%v allocations a block", n)
	}
}

// Run gives block after block of transitions and of samples at drawn-like uneven instants, n of either a block.
func Run(levels, volts bool, n int) func() *capture.Block {
	b := &capture.Block{First: capture.High}
	at, seed := capture.Tick(0), uint32(1)
	return func() *capture.Block {
		first, end := b.Last(), b.End
		b.Reset()
		b.Start, b.First = end, first
		for range n {
			seed = seed*1664525 + 1013904223
			at += 104_000 + capture.Tick(seed>>24)
			if levels {
				b.At, b.To = append(b.At, at), append(b.To, capture.Low+capture.High-b.Last())
			}
			if volts {
				b.SampleAt, b.Volts = append(b.SampleAt, at), append(b.Volts, float64(seed>>16)/4096)
			}
		}
		b.End = at
		return b
	}
}
