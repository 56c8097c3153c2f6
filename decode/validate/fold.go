package validate

import (
	"linewitness/capture"
	"linewitness/decode/link"
	"linewitness/decode/uart"
)

// Times are the first instants of a kind of event, and how many there were.
type Times struct {
	N  int64
	At []capture.Tick // the first 20, ascending
}

// MostTimes is how many instants are kept.
const MostTimes = 20

func (t *Times) add(at capture.Tick) {
	t.N++
	if len(t.At) < MostTimes {
		t.At = append(t.At, at)
	}
}

// Facts are those of a recording so far.
type Facts struct {
	Senders    []Sender // controller first where two talk; one of unknown side otherwise
	TwoTalk    bool
	Unframed   int64
	Cut        int64 // frames that the recording cut
	Glitches   Times
	Pulses     Times // episodes of short pulses, and of bursts in nobody's turn; a rest of episodeBits ends one
	GlitchMark int64 // of those, marks inside spaces
	Answered   int64
	Solicited  int64   // good polls that had the time to be answered
	Replies    Course  // of those, the bad ones not answered
	Asked      []Asked // by address, in the order in which they were first asked
	Dialogue   Dialogue
}

// Fold folds frames in order of time. It holds the state of the dialogue.
type Fold struct {
	Facts
	p         *link.Profile
	clock     capture.Clock
	turnMax   capture.Tick
	asked     bool // a poll stands unanswered
	good      bool // that poll was good
	pollEnd   capture.Tick
	pollAt    capture.Tick
	pollOf    [2]uint16
	pollShape int          // its kind; -1: none
	pollTo    int          // its address; -1: none
	nobody    Asked        // takes what has no address
	rest      capture.Tick // length of the rest that ends an episode
	pulse     capture.Tick // last short pulse
	pulsed    bool
	follow    *follower
	errors    errorLog
	jitter    [2]jitter // as Senders
	flips     [2]flips
	bounce    bounce
	weighing  weighing
	rivals    []uart.Rival
	mains     [2]mainsBad
}

// episodeBits is the rest in unit intervals after which short pulses count as a new episode: some ten characters.
const episodeBits = 100

// NewFold begins an empty fold.
func NewFold(p *link.Profile, c capture.Clock) *Fold {
	f := &Fold{p: p, clock: c, turnMax: c.Ticks(p.Timing.TurnaroundMax)}
	f.rest = c.Ticks(episodeBits / p.Speed())
	f.TwoTalk = p.Timing.TwoTalkers
	f.Senders = []Sender{{Side: capture.SideUnknown}}
	if f.TwoTalk {
		f.Senders = []Sender{{Side: p.Controller}, {Side: p.Responder}}
	}
	f.follow = newFollower(&f.Dialogue, p, c)
	f.jitter = [2]jitter{newJitter(p, c), newJitter(p, c)}
	f.flips = [2]flips{{p: p}, {p: p}}
	f.mains = [2]mainsBad{newMainsBad(c), newMainsBad(c)}
	f.bounce = newBounce(p, c)
	f.rivals = rivalsOf(p, c)
	return f
}

// Mains gives the fold the phase of mains that are followed while the recording runs, such as Mains.Phase. It is asked during Add and
// FactList.
func (f *Fold) Mains(phase func(capture.Tick) (cycles float64, ok bool)) {
	for i := range f.jitter {
		f.jitter[i].hum.phase, f.mains[i].phase = phase, phase
	}
}

// Edges takes the transitions of a burst as they stand on the line, in order of time; fresh: nothing is known of the time before.
func (f *Fold) Edges(at []capture.Tick, to []capture.Level, fresh bool) { f.bounce.add(at, to, fresh) }

// Glitch folds one glitch.
func (f *Fold) Glitch(g *uart.Glitch) {
	f.Glitches.add(g.At)
	if g.Mark {
		f.GlitchMark++
	}
	f.episode(g.At)
	f.errors.glitch(g, f.rest, f.clock.Seconds(g.Width))
}

// episode counts a disturbance that belongs to nobody.
func (f *Fold) episode(at capture.Tick) {
	if !f.pulsed || at-f.pulse > f.rest {
		f.Pulses.add(at)
	}
	f.pulsed, f.pulse = true, at
}

// Add gives the frame its side and turn-around, and folds it.
func (f *Fold) Add(r *link.Frame, q *Quality) {
	if r.Begins {
		f.asked = false
	}
	paused := r.Why&link.WhyTiming != 0 // inside; what turn adds is a late beginning
	h := heard{role: untold, asked: f.asked}
	if f.TwoTalk {
		h.role = f.role(r)
	}
	h.side = f.turn(r, h.role)
	f.follow.add(r, h)
	if h.side < 0 {
		f.stray(r)
		return
	}
	s := &f.Senders[h.side]
	r.Side = s.Side
	if r.Why&link.WhyCut != 0 {
		f.Cut++
		return
	}
	if f.errors.frame(h.side, r) {
		f.flips[h.side].begun(r, q.Dirty)
		f.mains[h.side].damaged(r)
	}
	if r.Why&link.WhyUnframed != 0 {
		f.Unframed++
		s.Unframed.add(r.At)
		s.Course.add(true)
		return
	}
	if r.OK() {
		f.jitter[h.side].frame(r, q)
		f.flips[h.side].whole(r)
		f.mains[h.side].whole(r)
	}
	s.frame(r, q, paused, f.p.Either && r.Space == f.p.Line.Mark())
}

// stray counts a burst that came in nobody's turn.
func (f *Fold) stray(r *link.Frame) {
	if r.Why&link.WhyCut != 0 {
		f.Cut++
		return
	}
	f.Unframed++
	f.episode(r.At)
}

// turn decides whose frame it is: a poll, 0, or the reply to the one that stands, 1; -1: nobody's.
func (f *Fold) turn(r *link.Frame, told role) int {
	if !f.TwoTalk {
		return 0
	}
	if told == elsewhere { // a second controller's; it changes nothing about the poll that stands
		r.Poll = r.OK()
		return 1
	}
	wait := r.At - f.pollEnd
	if told == replies || told == untold && f.reply(r, wait) {
		f.answered(r, wait)
		return 1
	}
	if r.Why&(link.WhyUnframed|link.WhyCut) != 0 { // no poll that anyone could answer
		if told == polls {
			return 0
		}
		return -1
	}
	f.unanswered(r.At)
	f.asked, f.good = true, r.OK()
	f.pollAt, f.pollEnd = r.At, r.End
	f.pollOf, f.pollShape = [2]uint16{}, -1
	f.ask(r)
	copy(f.pollOf[:], r.Values)
	if len(f.p.Shapes) > 0 {
		f.pollShape = f.p.ShapeOf(r.Octets, f.p.Controller)
	}
	r.Poll = true
	return 0
}

// answered takes the reply to the poll that stands, if one does.
func (f *Fold) answered(r *link.Frame, wait capture.Tick) {
	if !f.asked {
		return // its poll was not seen
	}
	s := &f.Senders[1]
	f.asked = false
	r.Turnaround = wait
	if wait > f.turnMax && r.OK() {
		r.Why |= link.WhyTiming
		s.Late.add(r.At)
	}
	s.Turn.Add(f.clock.Seconds(wait))
	if f.good {
		f.Solicited++
		f.Answered++
		f.Replies.add(false)
		if o := f.outcome(); r.OK() {
			o.Good++
		} else {
			o.Bad++
		}
	}
}

// reply tells whether r answers the poll that stands. Content decides where it can, time where it can't.
func (f *Fold) reply(r *link.Frame, wait capture.Tick) bool {
	if !f.asked {
		return r.OK() && !f.p.Asks(r)
	}
	if !r.OK() {
		return wait <= f.turnMax
	}
	if !f.p.Framing.Modbus {
		return wait <= f.turnMax
	}
	if f.p.Answers(f.pollOf, r) {
		return wait <= f.turnMax || !f.p.AsksWithin(r)
	}
	return !f.p.Asks(r)
}

// unanswered counts the standing poll as one that was not answered, if it was good and the link had the time.
func (f *Fold) unanswered(now capture.Tick) {
	if !f.asked || !f.good || now < f.pollEnd {
		return
	}
	f.Solicited++
	f.Senders[1].Missing.add(f.pollAt)
	f.Replies.add(true)
	f.outcome().Missing++
}

// Finish counts a last poll that had the time to be answered before the recording's end.
func (f *Fold) Finish(end capture.Tick) {
	if f.asked && end-f.pollEnd > f.turnMax && f.TwoTalk {
		f.unanswered(end)
		f.asked = false
	}
	f.follow.finish(end)
}
