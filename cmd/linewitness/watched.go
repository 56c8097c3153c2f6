package main

import (
	"context"
	"fmt"
	"io"

	"linewitness/capture"
	"linewitness/capture/file"
)

// watched is a source that shows how far it is read and that an interruption ends like the recording's own end, so
// that what was read until then is examined as it stands.
type watched struct {
	capture.Source
	ctx context.Context // of the one call that reads this source
	bar *progress

	torn error // how a log ends that was not ended; what came before is as good as ever
}

func (w *watched) Next(b *capture.Block) error {
	if _, ok := w.Source.(*piped); !ok && w.ctx.Err() != nil {
		return io.EOF
	}
	err := w.Source.Next(b)
	w.bar.show(w.Source)
	if file.Torn(err) {
		w.torn, err = err, io.EOF
	}
	if err != nil && w.ctx.Err() != nil {
		return io.EOF // such as a line cut by the interruption
	}
	return err
}

// say tells of a log what was lost of it, and what was done with the rest.
func (w *watched) say(stderr io.Writer, name, done string) {
	if w.torn != nil {
		fmt.Fprintf(stderr, "linewitness: %v; what came before was %s\n", at(name, w.torn), done)
	}
	log := logOf(w.Source)
	if log == nil || len(log.Damage()) == 0 {
		return
	}
	shown := name
	if name == "-" {
		shown = "standard input"
	}
	d := log.Damage()
	clock := log.Info().Clock
	fmt.Fprintf(stderr, "linewitness: %s: %s, the first at byte %d, at %.9g s; what stands there is lost, the rest was %s\n",
		shown, counted(int64(len(d)), "damaged stretch", "damaged stretches"), d[0].Offset, clock.Seconds(d[0].From), done)
}

// logOf is the log that a source reads; nil: it is none.
func logOf(s capture.Source) file.Log {
	if p, ok := s.(*piped); ok {
		s = p.Source
	}
	log, _ := s.(file.Log)
	return log
}
