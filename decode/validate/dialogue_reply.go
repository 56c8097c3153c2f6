package validate

import (
	"slices"

	"linewitness/decode/link"
)

// reply takes the next frame that is known to be the responder's; asked: a poll stood.
func (f *follower) reply(r *link.Frame, asked bool) {
	if f.polls == 0 {
		return // its poll was not seen, or may have been something else
	}
	shape := f.p.ShapeOf(r.Octets, f.p.Responder)
	start := shape >= 0 && f.p.Shapes[shape].Start && r.OK()
	switch {
	case start:
		f.owed = max(f.owed, 1) // the reply proper may follow
	case f.Unasked.Measured:
		f.unasked(r, asked)
	}
	if !asked {
		return
	}
	f.answers++
	if f.Doubled.Measured {
		f.Doubled.Of++
	}
	early := r.Turnaround < f.least-f.bit
	if f.Early.Measured {
		f.Early.chance(early, r.At)
	}
	if r.OK() && f.last.good && !early { // too early to be heard
		f.last.answered = f.proper(r, shape, start)
	}
}

// unasked counts replies that no poll asked for. The reply to an earlier poll, come late, is none of them.
func (f *follower) unasked(r *link.Frame, asked bool) {
	f.Unasked.Of++
	switch {
	case asked:
	case f.owed > 0:
		f.owed--
	case !r.OK():
	case f.answers == 1:
		f.answers++
		f.Doubled.add(r.At)
	default:
		f.Unasked.add(r.At)
	}
}

// proper tells whether a good reply is one that was asked for: from that address, of a kind that answers.
func (f *follower) proper(r *link.Frame, shape int, start bool) bool {
	ok := true
	if from := f.addressOf(r.Octets); f.Foreign.Measured && from >= 0 && f.asksFor(f.last.address) {
		foreign := from != f.last.address
		f.Foreign.chance(foreign, r.At)
		ok = !foreign
	}
	if s := f.last.shape; f.WrongAnswer.Measured && s >= 0 && shape >= 0 && len(f.p.Shapes[s].Answers) > 0 {
		wrong := !start && !slices.Contains(f.p.Shapes[s].Answers, f.p.Shapes[shape].Name)
		f.WrongAnswer.chance(wrong, r.At)
		ok = ok && !wrong
	}
	return ok
}

// addressOf is the address that a frame carries; -1: none.
func (f *follower) addressOf(octets []byte) int { return addressIn(f.p, octets) }

func addressIn(p *link.Profile, octets []byte) int {
	if p.Address == nil {
		return -1
	}
	at := p.Address.At
	if at < 0 {
		at += len(octets)
	}
	if at < 0 || at >= len(octets) {
		return -1
	}
	return int(octets[at])
}

// asksFor tells whether an address in a poll is that of the asked unit: one of the responder's side by the profile.
func (f *follower) asksFor(address int) bool {
	for _, u := range f.p.Address.Names {
		if int(u.Value) == address {
			return u.Side == f.p.Responder
		}
	}
	return false
}

// countIf counts a frame of the controller's kinds.
func (c *Count) countIf(p *link.Profile, r *link.Frame, happened bool) {
	if c.Measured && r.OK() && p.ShapeOf(r.Octets, p.Controller) >= 0 {
		c.chance(happened, r.At)
	}
}
