package main

import (
	"time"

	"github.com/vbauerster/mpb/v8"
	"github.com/vbauerster/mpb/v8/decor"
)

// steps is how finely a share is shown.
const steps = 1000

// share moves the bar to a share of what is to be done.
func (p *progress) share(done float64) {
	if p.out == nil || p.bar == nil && time.Since(p.since) < patience {
		return
	}
	if p.bar == nil {
		p.bars = mpb.New(mpb.WithOutput(p.out), mpb.WithWidth(76))
		p.bar = p.bars.AddBar(steps, mpb.BarRemoveOnComplete(), mpb.PrependDecorators(decor.Name(p.name+" ")),
			mpb.AppendDecorators(decor.Percentage()))
	}
	p.bar.SetCurrent(int64(done * (steps - 1)))
}
