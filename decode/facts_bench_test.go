package decode_test

import (
	"fmt"
	"testing"
	"time"

	"linewitness/capture"
	"linewitness/capture/burst"
	"linewitness/decode"
	"linewitness/decode/link"
	"linewitness/decode/tally"
	"linewitness/decode/uart"
	"linewitness/decode/validate"
)

// go test ./decode -run '^$' -bench Facts -count 6
//
// What facts about levels' edges and frames, and what is tallied for figures, cost against reading characters and frames, all in one
// run on the same batches of one core; "facts" is the facts' cost over that of reading, "tallies" the tallies'. What is asked for once
// at the end weighs more in the short talk. The volts' own facts have their benchmark in validate.
func BenchmarkFacts(b *testing.B) {
	for _, polls := range []int{500, 6000} {
		b.Run(fmt.Sprintf("polls=%d", polls), func(b *testing.B) { benchmarkFacts(b, polls) })
	}
}

func benchmarkFacts(b *testing.B, polls int) {
	k := &talk{seed: 5, polls: polls}
	w := k.wire()
	found, err := decode.Run(b.Context(), w.Source(4096), nil, decode.Options{Tap: capture.Pair})
	if err != nil || found.Link == nil {
		b.Fatal(err, "no link")
	}
	p := found.Link
	c := w.Info().Clock
	own := p.Line
	own.Speed = p.Speed()
	rivals, weighed := uart.NewRivals(own, c), []float64{}
	dec, framer := uart.NewDecoder(own, c), link.NewCutter(p, c)
	reader := uart.NewReader(dec, p.Spaces, p.Either)
	var fold *validate.Fold
	var walk validate.EdgeWalk
	var talk *tally.Talk
	var excerpts *tally.Keeper
	var values *tally.Values
	var chars uart.Chars
	var frames link.Frames
	var reads, checks, tallies time.Duration
	n := int64(0)
	take := func(batch *burst.Batch) error {
		chars.Reset()
		frames.Reset()
		start := time.Now()
		read := reader.Read(&chars, batch)
		framer.Cut(&frames, &chars, batch)
		middle := time.Now()
		for _, s := range batch.Bursts {
			fold.Edges(batch.At[s.From:s.To], batch.To[s.From:s.To], s.Begins)
		}
		for i := range read.Bursts {
			if fold.Weighs() {
				weighed = rivals.Weigh(weighed[:0], read, &read.Bursts[i])
				fold.Weighed(weighed)
			}
		}
		for i := range chars.Glitches {
			fold.Glitch(&chars.Glitches[i])
		}
		walk.Batch(read.At)
		for i := range frames.Frames {
			f := &frames.Frames[i]
			first := frames.First[i]
			q := validate.Measure(f, chars.Fits[first:first+len(f.Chars)])
			walk.Measure(f, chars.Fits[first:], &q)
			fold.Add(f, &q)
		}
		end := time.Now()
		for i := range frames.Frames {
			values.Add(&frames.Frames[i])
		}
		excerpts.Take(batch, frames.Frames, chars.Glitches)
		talk.Take(batch, frames.Frames)
		reads, checks, tallies = reads+middle.Sub(start), checks+end.Sub(middle), tallies+time.Since(end)
		n += int64(len(batch.At))
		return nil
	}
	for b.Loop() {
		fold, walk = validate.NewFold(p, c), validate.NewEdgeWalk(p, c)
		talk, values = tally.NewTalk(p, dec.Bit(), c), tally.NewValues(p)
		excerpts = tally.NewKeeper(dec.Bit(), framer.BurstGap(dec))
		cut := burst.New(framer.BurstGap(dec), func() *burst.Batch { return new(burst.Batch) }, take)
		if err := cut.Add(w.Block()); err != nil {
			b.Fatal(err)
		}
		if err := cut.Flush(); err != nil {
			b.Fatal(err)
		}
		start := time.Now()
		if len(fold.FactList()) == 0 {
			b.Fatal("no facts")
		}
		checks += time.Since(start)
	}
	b.ReportMetric(float64(checks)/float64(reads), "facts")
	b.ReportMetric(float64(tallies)/float64(reads), "tallies")
	b.ReportMetric(float64(reads+checks+tallies)/float64(n), "ns/transition")
}
