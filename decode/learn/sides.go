package learn

import (
	"math"
	"slices"

	"linewitness/capture"
	"linewitness/decode/link"
	"linewitness/decode/uart"
)

// turn is a frame of which the level tells the sender.
type turn struct {
	side    capture.Side
	at, end capture.Tick
}

// sides takes from the levels who sends, and from the silences who asks: the one whose frames the other's follow sooner.
func sides(p *link.Profile, frames [][]uart.Character, c capture.Clock) {
	p.Feed, p.FeedAssumed = capture.Outdoor, true
	turns := turnsOf(p, frames)
	count := map[capture.Side]int{}
	for _, t := range turns {
		count[t.side]++
	}
	p.Timing.TwoTalkers = true
	p.Controller, p.Responder = capture.Indoor, capture.Outdoor
	ask, answer := waits(turns, capture.Indoor, c), waits(turns, capture.Outdoor, c)
	switch {
	case len(ask) > 0 && len(answer) > 0:
		if median(answer) < median(ask) {
			ask, answer = answer, ask
			p.Controller, p.Responder = p.Responder, p.Controller
		}
		p.Timing.TurnaroundMax = between(ask, answer)
	case count[capture.Outdoor] > count[capture.Indoor]:
		p.Controller, p.Responder = p.Responder, p.Controller
	}
	period(p, turns, c)
}

func turnsOf(p *link.Profile, frames [][]uart.Character) (turns []turn) {
	for _, f := range frames {
		s := p.SideOf(f[0].Space)
		if s != capture.SideUnknown && len(f) > 1 {
			turns = append(turns, turn{s, f[0].At, f[len(f)-1].End})
		}
	}
	return turns
}

// waits are the silences between a side's frame and the other's next, in seconds.
func waits(turns []turn, from capture.Side, c capture.Clock) (w []float64) {
	for i := 1; i < len(turns); i++ {
		if turns[i-1].side == from && turns[i].side != from {
			w = append(w, math.Max(0, c.Seconds(turns[i].at-turns[i-1].end)))
		}
	}
	return w
}

func median(v []float64) float64 {
	v = slices.Clone(v)
	slices.Sort(v)
	return v[len(v)/2]
}

// between is a limit for replies: halfway, as a ratio, between what they take and the silences before polls where these
// are longer, twice what they take otherwise.
func between(reply, poll []float64) float64 {
	r, p := median(reply), median(poll)
	if p > 4*r {
		return math.Sqrt(r * p)
	}
	return 2*slices.Max(reply) + 1e-3
}

// period is the poll period, and a limit for replies where none was seen.
func period(p *link.Profile, turns []turn, c capture.Clock) {
	var polls, rests []float64
	last := -1
	for i, t := range turns {
		if t.side != p.Controller {
			continue
		}
		if last >= 0 {
			polls = append(polls, c.Seconds(t.at-turns[last].at))
			rests = append(rests, c.Seconds(t.at-turns[last].end))
		}
		last = i
	}
	if len(polls) == 0 {
		p.Timing.TurnaroundMax = max(p.Timing.TurnaroundMax, 0.1)
		return
	}
	p.Timing.PollPeriod = median(polls)
	if p.Timing.TurnaroundMax == 0 {
		p.Timing.TurnaroundMax = max(median(rests)*0.8, 1e-3)
	}
}
