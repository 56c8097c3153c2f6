package main

import (
	"context"
	"io"

	"linewitness/capture"
)

// watched is a source that shows how far it is read and that an interruption ends like the recording's own end, so
// that what was read until then is examined as it stands.
type watched struct {
	capture.Source
	ctx context.Context // of the one call that reads this source
	bar *progress
}

func (w *watched) Next(b *capture.Block) error {
	if _, ok := w.Source.(*piped); !ok && w.ctx.Err() != nil {
		return io.EOF
	}
	err := w.Source.Next(b)
	w.bar.show(w.Source)
	if err != nil && w.ctx.Err() != nil {
		return io.EOF // such as a line cut by the interruption
	}
	return err
}
