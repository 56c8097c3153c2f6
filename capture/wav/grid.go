package wav

import "linewitness/capture"

// grid is where samples stand on a clock whose ticks need not divide their distance: at 48 kHz in nanoseconds a sample
// comes after 20833 or 20834 ticks. The exact instant is next + rest/den.
type grid struct {
	step, stepRest, den int64
	started             bool
	next                capture.Tick
	rest                int64
}

func newGrid(c capture.Clock, rate int64) grid {
	den := c.Den * rate
	return grid{step: c.Num / den, stepRest: c.Num % den, den: den}
}

// startAt makes t the instant of the first sample, unless there was one.
func (g *grid) startAt(t capture.Tick) {
	if !g.started {
		g.started, g.next, g.rest = true, t, 0
	}
}

// fits tells whether t is less than a tick away from where the next sample stands: rounded down, up or to the nearest.
func (g *grid) fits(t capture.Tick) bool {
	g.startAt(t)
	return t == g.next || g.rest > 0 && t == g.next+1
}

// advance goes on to the next sample.
func (g *grid) advance() {
	g.next += capture.Tick(g.step)
	if g.rest += g.stepRest; g.rest >= g.den {
		g.rest -= g.den
		g.next++
	}
}
