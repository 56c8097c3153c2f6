package learn

import (
	"linewitness/capture"
	"linewitness/decode/link"
	"linewitness/decode/uart"
)

// Fit is a described link as it shows at the tap of a recording: its levels, and the limits that the description leaves
// open. What the description says stays.
func Fit(p *link.Profile, k Known) *link.Profile {
	q := *p
	spaces := k.spaces()
	if k.Upright || spaces != 0 {
		q.Line.Inverted = false
	}
	q.Spaces, q.Line.Mid = spaces, spaces == uart.Below|uart.Above
	q.Either = k.Kind == link.TwoWire
	if q.Kind == link.KindUnknown {
		q.Kind = k.Kind
	}
	if q.Kind == link.Loop3 && q.Feed == capture.SideUnknown {
		q.Feed, q.FeedAssumed = capture.Outdoor, true
	}
	if q.Timing.TwoTalkers {
		q.Controller, q.Responder = roles(&q)
		q.Timing.TurnaroundMax = patience(&q.Timing)
	}
	return &q
}

// roles are the two talkers, a and b where the description does not say which unit polls.
func roles(p *link.Profile) (controller, responder capture.Side) {
	controller, responder = p.Controller, p.Responder
	other := map[capture.Side]capture.Side{capture.Indoor: capture.Outdoor, capture.Outdoor: capture.Indoor,
		capture.SideA: capture.SideB, capture.SideB: capture.SideA}
	switch {
	case controller == capture.SideUnknown && responder == capture.SideUnknown:
		return capture.SideA, capture.SideB
	case controller == capture.SideUnknown:
		return other[responder], responder
	case responder == capture.SideUnknown:
		return controller, other[controller]
	}
	return controller, responder
}

// patience is the longest turn-around where the description names none: half a poll period, or a second.
func patience(t *link.Timing) float64 {
	switch {
	case t.TurnaroundMax > 0:
		return t.TurnaroundMax
	case t.PollPeriod > 0:
		return t.PollPeriod / 2
	}
	return 1
}
