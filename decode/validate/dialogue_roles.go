package validate

import (
	"slices"

	"linewitness/capture"
	"linewitness/decode/link"
)

// role is what a frame is in the dialogue by what the profile says of it; elsewhere: a poll by its kind, at the level of
// space that is the responder's.
type role uint8

const (
	untold role = iota
	polls
	replies
	elsewhere
)

// role tells a frame's role from its level, where levels name the sender, and from its kind. Where nobody said which unit
// feeds, the kind says more than the level. An address tells nothing here: most links put the asked unit's into both.
func (f *Fold) role(r *link.Frame) role {
	kind := f.kind(r)
	level := f.p.SideOf(r.Space)
	switch {
	case level == capture.SideUnknown, f.p.FeedAssumed && kind != untold:
		return kind
	case level != f.p.Responder:
		return polls
	case kind == polls && !f.p.Learned:
		return elsewhere
	}
	return replies
}

// kind tells a frame's role from its content, if no kind of the other side looks the same. Damaged characters tell nothing.
func (f *Fold) kind(r *link.Frame) role {
	if len(f.p.Shapes) == 0 || r.Why&^(link.WhyChecksum|link.WhyTiming) != 0 {
		return untold
	}
	ask, answer := f.p.ShapeOf(r.Octets, f.p.Controller), f.p.ShapeOf(r.Octets, f.p.Responder)
	switch {
	case ask < 0 && answer < 0:
		return untold
	case answer < 0:
		return polls
	case ask < 0:
		return replies
	case ask != answer:
		return untold // both sides send such frames: the dialogue tells
	}
	s := &f.p.Shapes[ask] // either side's
	if f.asked && f.good && f.pollShape >= 0 && slices.Contains(f.p.Shapes[f.pollShape].Answers, s.Name) && r.At-f.pollEnd <= f.turnMax {
		return replies
	}
	if len(s.Answers) > 0 {
		return polls
	}
	return untold
}
