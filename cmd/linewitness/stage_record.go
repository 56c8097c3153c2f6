package main

import (
	"context"
	"fmt"
	"io"
	"io/fs"
	"strconv"
	"strings"

	"linewitness/capture"
	"linewitness/capture/file"
	"linewitness/cmd/linewitness/internal/draft"
	"linewitness/decode/link/linkfile"
	"linewitness/fixtures/stage"
)

// recording is one that is being staged.
type recording struct {
	*stageOptions
	out  destination
	w    file.Writer
	info capture.Info
	sum  struct{ transitions, samples, lost int64 }
}

// record stages a scenario into the output, and its truth; both or none.
func (o *stageOptions) record(ctx context.Context, s *stage.Scenario, beside fs.FS, std streams) error {
	out, err := draft.New(o.output)
	if err != nil {
		return err
	}
	defer out.Abandon() // does nothing after Commit
	r := &recording{stageOptions: o, out: out}
	bar := newProgress(std.err, o.output)
	defer bar.end()
	truth, err := stage.Stage(ctx, s, r.block, stage.Options{Beside: beside, Begin: r.begin, Progress: bar.share})
	if err == nil {
		err = r.w.Close()
	}
	if err != nil {
		return fmt.Errorf("%s: %w", o.output, err)
	}
	size, sized := out.Size()
	if err := written(o.truth, truth.WriteJSON); err != nil {
		return err
	}
	if err := written(o.linkProfile, func(w io.Writer) error { return writeSpoken(w, s, beside) }); err != nil {
		return err
	}
	if err := out.Commit(); err != nil {
		return fmt.Errorf("%s: %w", o.output, err)
	}
	bar.end()
	r.say(std.err, truth, size, sized)
	return nil
}

func (r *recording) begin(info capture.Info) (err error) {
	r.info = info
	r.w, err = file.Create(r.out, r.format, info, file.CreateOptions{Round: true})
	return err
}

func (r *recording) block(b *capture.Block) error {
	r.sum.transitions += int64(len(b.At))
	r.sum.samples += int64(len(b.SampleAt))
	if b.Gap.Present() {
		r.sum.lost++
	}
	return r.w.Write(b)
}

// written writes a file whole, where one was asked for.
func written(name string, write func(io.Writer) error) error {
	if name == "" {
		return nil
	}
	d, err := draft.New(name)
	if err != nil {
		return err
	}
	defer d.Abandon() // does nothing after Commit
	if err := write(d); err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	if err := d.Commit(); err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	return nil
}

// writeSpoken writes the link that a scenario's line should speak.
func writeSpoken(w io.Writer, s *stage.Scenario, beside fs.FS) error {
	p, err := s.Spoken(beside)
	if err != nil {
		return err
	}
	return linkfile.Write(w, p)
}

// say tells what was written and how it is examined; what is wrong only the truth says.
func (r *recording) say(stderr io.Writer, t *stage.Truth, size int64, sized bool) {
	parts := []string{counted(r.sum.transitions, "transition"), counted(r.sum.samples, "sample"), counted(r.sum.lost, "lost interval")}
	if sized {
		parts = append(parts, counted(size, "byte"))
	}
	fmt.Fprintf(stderr, "%s: %s\n", r.output, strings.Join(parts, ", "))
	if left := r.w.Left(); len(left) > 0 {
		fmt.Fprintf(stderr, "%s: not in this file: %s\n", r.output, strings.Join(left, "; "))
	}
	with := ""
	if r.linkProfile != "" {
		with += " --profile " + r.linkProfile
	}
	if t.Tap != "" && r.format != "pcapng" {
		with += " --tap " + t.Tap
	}
	if r.format == "wav" && r.info.FullScale > 0 {
		with += " --full-scale " + strconv.FormatFloat(r.info.FullScale, 'g', -1, 64)
	}
	fmt.Fprintf(stderr, "linewitness examine%s %s\n", with, r.output)
}
