package main

import (
	"context"
	"io"
	"os"

	"linewitness/capture"
	"linewitness/capture/file"
	"linewitness/decode"
	"linewitness/decode/link"
	"linewitness/plots"
)

// piped is a source behind an interruptible reader: an interruption lets it come to its own end.
type piped struct {
	capture.Source
	name   string
	reader *interruptible
}

func (p *piped) Info() capture.Info {
	info := p.Source.Info()
	info.Name = p.name
	return info
}

func (p *piped) Close() error {
	defer p.reader.stop()
	return p.Source.Close()
}

// openRecording opens a recording by name, - for standard input. What may block, a pipe or a device, is read such
// that an interruption ends it.
func openRecording(ctx context.Context, name string, stdin io.Reader, opt file.Options) (capture.Source, error) {
	var open func() (io.ReadCloser, error)
	switch {
	case name == "-":
		open = func() (io.ReadCloser, error) { return io.NopCloser(stdin), nil }
	case mayBlock(name):
		open = func() (io.ReadCloser, error) { return os.Open(name) }
	default:
		return file.Open(name, nil, opt)
	}
	reader := newInterruptible(ctx, open)
	src, err := file.Open("-", reader, opt)
	if err != nil {
		reader.stop()
		return nil, err
	}
	return &piped{src, name, reader}, nil
}

func mayBlock(name string) bool {
	info, err := os.Stat(name)
	return err == nil && info.Mode()&(os.ModeNamedPipe|os.ModeCharDevice|os.ModeSocket) != 0
}

// decodeRecording examines src to its end, by a profile or, where it is nil, by the link it learns; an interruption is an early end of src.
func decodeRecording(ctx context.Context, src capture.Source, p *link.Profile, opt decode.Options) (*decode.Finding, error) {
	return decode.Run(context.WithoutCancel(ctx), src, p, opt)
}

func writeReport(dir string, f *decode.Finding) error {
	return plots.WriteReport(dir, f, plots.Options{})
}
