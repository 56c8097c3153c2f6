package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"linewitness/capture"
	"linewitness/capture/file"
	"linewitness/cmd/linewitness/internal/draft"
)

// destination is what a conversion writes to.
type destination interface {
	io.Writer
	Commit() error
	Abandon()
	Size() (n int64, ok bool)
}

// convertFile writes the recording of one name under another, or leaves nothing.
func convertFile(ctx context.Context, opt convertOptions, from, to string, std streams) error {
	c := conversion{convertOptions: opt, from: from, to: to, streams: std}
	c.create = func() (destination, error) { return draft.New(to) }
	err := c.run(ctx)
	switch {
	case ctx.Err() != nil && err != nil:
		return ended{statusInterrupted}
	case err != nil:
		report(std.err, err)
		return ended{statusFailed}
	}
	return nil
}

// conversion is one call of convert.
type conversion struct {
	convertOptions
	streams
	from, to string
	create   func() (destination, error)

	transitions, samples, lost int64
	lostSpan                   capture.Tick
}

func (c *conversion) run(ctx context.Context) (err error) {
	defer func() {
		// Nothing in a file may end the program, and Go's own status for a panic is that of wrong use.
		if p := recover(); p != nil {
			err = at(c.from, fmt.Errorf("internal error: %v", p))
		}
	}()
	src, err := openRecording(ctx, c.from, c.in, file.Options{Net: c.net, FullScale: c.fullScale})
	if err != nil {
		return at(c.from, err)
	}
	bar := newProgress(c.err, c.from)
	defer bar.end()
	read := &watched{Source: src, ctx: ctx, bar: bar}
	src = read
	defer func() { _ = src.Close() }() // all was read by then, or nothing is left of it
	out, err := c.create()
	if err != nil {
		return err
	}
	defer out.Abandon() // does nothing after commit
	w, err := file.Create(out, c.format, src.Info(),
		file.CreateOptions{Bits: c.bits.bits, Float: c.bits.float, FullScale: c.fullScale, Round: c.round})
	if err == nil {
		err = c.copy(ctx, src, w)
	}
	if err != nil {
		return c.blame(err)
	}
	size, sized := out.Size()
	if err := out.Commit(); err != nil {
		return fmt.Errorf("%s: %w", c.to, err)
	}
	bar.end()
	c.say(src.Info().Clock, w, size, sized)
	c.sayNotes(read)
	read.say(c.err, c.from, "converted")
	return nil
}

// sourceError is an error of what is read; all others are of what is written.
type sourceError struct{ error }

func (e sourceError) Unwrap() error { return e.error }

func (c *conversion) copy(ctx context.Context, src capture.Source, w file.Writer) error {
	var b capture.Block
	for {
		err := src.Next(&b)
		if ctx.Err() != nil {
			return context.Cause(ctx)
		}
		if errors.Is(err, io.EOF) {
			return w.Close()
		}
		if err != nil {
			return sourceError{err}
		}
		c.count(&b)
		if err := w.Write(&b); err != nil {
			return err
		}
	}
}

func (c *conversion) count(b *capture.Block) {
	c.transitions += int64(len(b.At))
	c.samples += int64(len(b.SampleAt))
	if b.Gap.Present() {
		c.lost++
		c.lostSpan += b.Gap.To - b.Gap.From
	}
}

// blame says which file an error is about, and which option helps.
func (c *conversion) blame(err error) error {
	var source sourceError
	if errors.As(err, &source) {
		return at(c.from, source.error)
	}
	err = fmt.Errorf("%s: %w", c.to, err)
	switch {
	case errors.Is(err, file.ErrInexact):
		return fmt.Errorf("%w (--round does so)", err)
	case errors.Is(err, file.ErrRelative):
		return fmt.Errorf("%w (--full-scale says it; 1 keeps the numbers)", err)
	case errors.Is(err, file.ErrFullScale):
		return fmt.Errorf("%w (--full-scale says it)", err)
	}
	return err
}

// say tells what was written, what was moved and what was left out.
func (c *conversion) say(clock capture.Clock, w file.Writer, size int64, sized bool) {
	parts := []string{counted(c.transitions, "transition"), counted(c.samples, "sample"), counted(c.lost, "lost interval")}
	if c.lost > 0 {
		parts[2] += " (" + strconv.FormatFloat(clock.Seconds(c.lostSpan), 'g', 6, 64) + " s)"
	}
	if sized {
		parts = append(parts, counted(size, "byte"))
	}
	fmt.Fprintf(c.err, "%s: %s\n", c.to, strings.Join(parts, ", "))
	if c.round {
		fmt.Fprintf(c.err, "%s: instants were moved by at most %.3g ns\n", c.to, w.Moved()*1e9)
	}
	if left := w.Left(); len(left) > 0 {
		fmt.Fprintf(c.err, "%s: not in this file: %s\n", c.to, strings.Join(left, "; "))
	}
}

// sayNotes names what only the log that was read holds.
func (c *conversion) sayNotes(read *watched) {
	if log := logOf(read.Source); log != nil && len(log.Notes()) > 0 {
		fmt.Fprintf(c.err, "%s: not in this file: %s of the log\n", c.to, counted(int64(len(log.Notes())), "note"))
	}
}

// counted is a number and its noun; the plural where it is no mere s.
func counted(n int64, what string, plural ...string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %s", n, append(plural, what+"s")[0])
}
