package main

import (
	"context"
	"fmt"
	"sync/atomic"

	"linewitness/capture"
	"linewitness/capture/file"
	"linewitness/decode"
	"linewitness/decode/compare"
	"linewitness/decode/link"
)

// mostFrames is how many frames of a recording are kept to be aligned: some 80 MB.
const mostFrames = 2_000_000

// mostGaps is how many lost intervals of a recording are kept; what comes later counts as one.
const mostGaps = 100_000

// reading is what compare keeps of a recording.
type reading struct {
	finding *decode.Finding
	tap     capture.Tap // as said, not inferred
	rec     compare.Recording
	counts  counts
}

// proof is how well its link is known: by a checksum first, then by how many frames are whole.
func (r *reading) proof() float64 {
	p := r.finding.Link
	if p == nil {
		return -1
	}
	share := float64(r.counts.whole) / float64(max(1, r.counts.all))
	if p.Checksum != nil {
		return 1 + share
	}
	return share
}

// read decodes a recording up to its end or to an interruption.
func (c *comparison) read(ctx context.Context, i int, p *link.Profile) (r *reading, err error) {
	name := c.names[i]
	defer func() {
		// Nothing in a file may end the program, and Go's own status for a panic is that of wrong use.
		if p := recover(); p != nil {
			r, err = nil, fmt.Errorf("internal error: %v", p)
		}
		if err != nil {
			err = at(name, err)
		}
	}()
	src, err := openRecording(ctx, name, c.in, file.Options{Net: c.net, FullScale: c.fullScale[i]})
	if err != nil {
		return nil, err
	}
	bar := newProgress(c.err, name)
	defer bar.end()
	read := &watched{Source: src, ctx: ctx, bar: bar}
	defer func() {
		if e := read.Close(); err == nil && e != nil && ctx.Err() == nil {
			r, err = nil, e
		}
	}()
	r = &reading{tap: c.taps[i]}
	if r.tap == capture.TapUnknown {
		r.tap = src.Info().Tap
	}
	keep := &keeper{Source: read, r: r, frames: !c.beforeAfter}
	r.counts.clock = src.Info().Clock
	if r.finding, err = decodeRecording(ctx, keep, p, decode.Options{Tap: c.taps[i], Mains: c.mains, Frames: keep.frame}); err != nil {
		return nil, err
	}
	r.finish()
	read.say(c.err, name, "compared")
	return r, nil
}

// finish takes over from the finding what the frames do not say.
func (r *reading) finish() {
	f := r.finding
	r.rec.Clock, r.rec.From, r.rec.To = f.Recording.Clock, f.Recording.From, f.Recording.To
	if p := f.Link; p != nil && p.Speed() > 0 {
		r.rec.Bit, r.rec.Mid = 1/p.Speed(), p.Line.Mid
	}
}

// keeper is a source whose lost intervals and frames are kept on the way.
type keeper struct {
	capture.Source
	r      *reading
	frames bool
	full   atomic.Bool // told by the goroutine that folds
}

func (k *keeper) Next(b *capture.Block) error {
	if k.full.Load() {
		return errTooMany
	}
	err := k.Source.Next(b)
	if err != nil || !b.Gap.Present() {
		return err
	}
	gaps := &k.r.rec.Gaps
	if n := len(*gaps); n == mostGaps {
		(*gaps)[n-1].To = b.Gap.To
		return nil
	}
	*gaps = append(*gaps, compare.Span{From: b.Gap.From, To: b.Gap.To})
	return nil
}

// frame takes a frame as it is decoded, while Next waits.
func (k *keeper) frame(f *link.Frame) {
	k.r.counts.add(f)
	switch {
	case !k.frames:
	case len(k.r.rec.Frames) == mostFrames:
		k.full.Store(true)
	default:
		k.r.rec.Frames = append(k.r.rec.Frames, compare.Keep(f))
	}
}
