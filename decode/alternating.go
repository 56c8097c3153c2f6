package decode

import (
	"linewitness/capture"
	"linewitness/decode/validate"
)

// alternating judges a voltage that is mains alone: its effective value over each cycle, refreshed each half cycle, and its
// dips against a reference that follows in a minute (IEC 61000-4-30).
type alternating struct {
	urms   *validate.Urms
	dips   *validate.Dips
	sum, n float64
}

func newAlternating(c capture.Clock, nominal float64) *alternating {
	a := &alternating{dips: validate.NewDips(c, validate.DipLimits{Slide: 60})}
	a.urms = validate.NewUrms(c, nominal, func(start, end capture.Tick, rms float64) {
		a.dips.Add(start, end, rms)
		a.sum, a.n = a.sum+rms, a.n+1
	})
	return a
}

// effective is the mean of the effective values, V; NaN where there was none.
func (a *alternating) effective() float64 { return a.sum / a.n }
