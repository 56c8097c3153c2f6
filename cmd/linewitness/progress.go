package main

import (
	"io"
	"os"
	"path/filepath"
	"time"

	"github.com/vbauerster/mpb/v8"
	"github.com/vbauerster/mpb/v8/decor"
	"golang.org/x/term"

	"linewitness/capture"
)

// patience is how long a recording is read before a bar appears.
const patience = 2 * time.Second

// progress is a bar on a terminal, for recordings that take a while; anywhere else it does nothing.
type progress struct {
	out   io.Writer // nil: no terminal
	name  string
	since time.Time
	bars  *mpb.Progress
	bar   *mpb.Bar
}

func newProgress(stderr io.Writer, name string) *progress {
	p := &progress{name: filepath.Base(name), since: time.Now()}
	if f, ok := stderr.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		p.out = f
	}
	return p
}

// show moves the bar to where src is read.
func (p *progress) show(src capture.Source) {
	if p.out == nil || p.bar == nil && time.Since(p.since) < patience {
		return
	}
	read, ok := src.(interface{ BytesRead() int64 })
	if !ok {
		return
	}
	if p.bar == nil {
		size := src.Info().Size
		if size <= 0 {
			p.out = nil // how far it is cannot be said
			return
		}
		p.bars = mpb.New(mpb.WithOutput(p.out), mpb.WithWidth(76))
		p.bar = p.bars.AddBar(size,
			mpb.BarRemoveOnComplete(),
			mpb.PrependDecorators(decor.Name(p.name+" ")),
			mpb.AppendDecorators(decor.CountersKibiByte(" % .1f / % .1f")))
	}
	p.bar.SetCurrent(read.BytesRead())
}

// end takes the bar away.
func (p *progress) end() {
	if p.bar != nil {
		p.bar.Abort(true)
		p.bars.Wait()
	}
}
