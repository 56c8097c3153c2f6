package main

import (
	"context"
	"io"
	"time"

	"github.com/vbauerster/mpb/v8"
	"github.com/vbauerster/mpb/v8/decor"
)

// result of one seed.
type result struct {
	t   *trial
	err error
}

// tryAll tries all lines, several at a time, and hands them on in the order of their seeds. The first error ends it.
func (o *options) tryAll(ctx context.Context, stderr io.Writer, each func(*trial)) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	progress := mpb.NewWithContext(ctx, mpb.WithOutput(stderr), mpb.WithRefreshRate(500*time.Millisecond))
	bar := progress.AddBar(int64(o.lines), mpb.PrependDecorators(decor.CountersNoUnit("%d of %d lines")), mpb.AppendDecorators(decor.AverageETA(decor.ET_STYLE_MMSS)))
	defer progress.Shutdown()
	free := make(chan struct{}, o.workers)
	queue := make(chan chan result, 4*o.workers)
	go func() {
		defer close(queue)
		for i := range o.lines {
			select {
			case free <- struct{}{}:
			case <-ctx.Done():
				return
			}
			one := make(chan result, 1)
			go func() {
				t, err := o.try(ctx, o.seed+uint64(i))
				<-free
				one <- result{t, err}
			}()
			queue <- one
		}
	}()
	var first error
	for one := range queue {
		r := <-one
		switch {
		case first != nil: // only emptied
		case r.err != nil:
			first = r.err
			cancel()
		default:
			each(r.t)
			bar.Increment()
		}
	}
	if first == nil {
		first = ctx.Err()
	}
	return first
}
