package decode

import (
	"context"
	"errors"
	"io"

	"linewitness/capture"
	"linewitness/decode/link"
)

// Run examines a whole source. When ctx ends or the source fails, the finding so far comes together with the error.
// The source stays the caller's to close.
func Run(ctx context.Context, src capture.Source, p *link.Profile, opt Options) (*Finding, error) {
	info := src.Info()
	e := New(info, p, opt)
	defer e.Close()
	err := feed(ctx, src, e)
	if err2 := e.Flush(); err == nil {
		err = err2
	}
	return e.Finding(), err
}

// feed adds blocks until the source ends.
func feed(ctx context.Context, src capture.Source, e *Examiner) error {
	var b capture.Block
	for {
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := src.Next(&b); err != nil {
			if errors.Is(err, io.EOF) {
				return nil
			}
			return err
		}
		if err := e.Add(&b); err != nil {
			return err
		}
	}
}
