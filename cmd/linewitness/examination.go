package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"linewitness/capture"
	"linewitness/capture/file"
	"linewitness/cmd/linewitness/internal/output"
	"linewitness/decode"
	"linewitness/decode/cause"
	"linewitness/decode/link"
)

// streams are the standard streams.
type streams struct {
	in       io.Reader
	out, err io.Writer
}

// examination goes through the recordings of one call, in order.
type examination struct {
	examineOptions
	streams
	answers io.Writer      // where the answers go
	link    *link.Profile  // nil: it is learned
	frames  *output.Frames // nil: not asked for
	folders folders
	read    int   // recordings that could be read, wholly or up to an interruption
	failed  bool  // a recording could not be read, or an output not written
	said    error // the last failure
	fault   bool  // a verdict is not sound
}

// errNoOutput ends the examination: no answer can be written any more. It has been reported.
var errNoOutput = errors.New("no output")

func examineAll(ctx context.Context, opt examineOptions, files []string, std streams) error {
	x := &examination{examineOptions: opt, streams: std, answers: std.out, folders: folders{dir: opt.report, several: len(files) > 1}}
	if opt.profile != "" {
		p, err := readProfile(opt.profile, std.in)
		if err != nil {
			report(std.err, err)
			return ended{statusFailed}
		}
		x.link = p
	}
	if opt.frames != "" {
		frames, err := output.OpenFrames(opt.frames, std.out)
		if errors.As(err, new(*output.EndingError)) {
			return err
		}
		if err != nil {
			return &outputError{err}
		}
		defer frames.Abandon() // does nothing after Commit
		x.frames = frames
		if opt.frames == "-" {
			x.answers = std.err
		}
	}
	if len(files) == 0 {
		x.unrecorded(ctx)
	}
	for _, name := range files {
		if ctx.Err() != nil || x.one(ctx, name) == errNoOutput {
			break
		}
	}
	x.commit()
	return x.end(ctx)
}

// one examines a recording and writes its answers.
func (x *examination) one(ctx context.Context, name string) error {
	if x.frames != nil {
		x.frames.Mark()
	}
	finding, err := x.examine(ctx, name)
	if err != nil {
		if x.frames != nil {
			x.frames.Drop()
		}
		if ctx.Err() == nil {
			x.fail(at(name, err))
		}
		return nil
	}
	x.read++
	if finding, err = x.asked(ctx, finding); err == nil {
		x.judged(finding)
		err = x.answer(finding)
	}
	if err != nil {
		x.fail(err)
		return errNoOutput
	}
	if x.report != "" {
		if err := writeReport(x.folders.next(name), finding); err != nil {
			x.fail(err)
		}
	}
	return nil
}

// judged remembers whether a verdict is not sound.
func (x *examination) judged(f *decode.Finding) {
	if v := &f.Verdict; v.Undetermined || v.Family != cause.Sound {
		x.fault = true
	}
}

// examine decodes a recording up to its end or to an interruption.
func (x *examination) examine(ctx context.Context, name string) (f *decode.Finding, err error) {
	defer func() {
		// Nothing in a file may end the program, and Go's own status for a panic is that of wrong use.
		if p := recover(); p != nil {
			f, err = nil, fmt.Errorf("internal error: %v", p)
		}
	}()
	src, err := openRecording(ctx, name, x.in, file.Options{Net: x.net, FullScale: x.fullScale})
	if err != nil {
		return nil, err
	}
	bar := newProgress(x.err, name)
	defer bar.end()
	read := &watched{Source: src, ctx: ctx, bar: bar}
	src = read
	defer func() {
		if e := src.Close(); err == nil && e != nil && ctx.Err() == nil {
			f, err = nil, e
		}
	}()
	opt := decode.Options{Tap: x.tap, Mains: x.mains, Readings: x.readings}
	if x.frames != nil {
		x.frames.Recording(name, src.Info().Clock, x.link)
		opt.Frames = x.frames.Add
	}
	if f, err = decodeRecording(ctx, src, x.link, opt); err == nil {
		read.say(x.err, name, "examined")
	}
	return f, err
}

func (x *examination) answer(f *decode.Finding) error {
	if x.frames != nil && x.frames.Name() == "-" {
		if err := x.frames.Flush(); err != nil {
			return err
		}
	}
	if x.json {
		line, err := output.AppendFinding(nil, f)
		if err == nil {
			_, err = x.answers.Write(line)
		}
		return err
	}
	if x.ask {
		return output.WriteSheet(x.answers, f, x.readings)
	}
	if x.read > 1 {
		if _, err := io.WriteString(x.answers, "\n"); err != nil {
			return err
		}
	}
	return output.WriteText(x.answers, f)
}

// commit writes the frames out, unless there is no recording they could come from.
func (x *examination) commit() {
	if x.frames == nil || x.read == 0 {
		return
	}
	if err := x.frames.Commit(); err != nil && !errors.Is(err, x.said) {
		x.fail(err)
	}
}

func (x *examination) fail(err error) {
	x.failed, x.said = true, err
	report(x.err, err)
}

func (x *examination) end(ctx context.Context) error {
	switch {
	case ctx.Err() != nil:
		return ended{statusInterrupted}
	case x.failed:
		return ended{statusFailed}
	case x.fault && x.failOnFault:
		return ended{statusFault}
	}
	return nil
}

// at puts the recording's name in front of an error that does not say it. What is piped was opened without its name.
func at(name string, err error) error {
	shown := name
	if name == "-" {
		shown = "standard input"
	}
	var format *capture.FormatError
	var unsupported *capture.UnsupportedError
	switch {
	case errors.As(err, &format):
		format.Name = shown
	case errors.As(err, &unsupported):
		unsupported.Name = shown
	case strings.Contains(err.Error(), name) && name != "-":
	default:
		return fmt.Errorf("%s: %w", shown, err)
	}
	return err
}
