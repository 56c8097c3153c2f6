package validate

import (
	"linewitness/capture"
	"linewitness/decode/link"
)

// Count is events of a kind among the chances for them. Measured false: the profile does not say enough to tell them, and
// N = 0 means nothing.
type Count struct {
	Times
	Of       int64
	Measured bool
}

// chance counts a chance, and the event where it happened.
func (c *Count) chance(happened bool, at capture.Tick) {
	c.Of++
	if happened {
		c.add(at)
	}
}

// Started are starts of a unit, each with the silence of that unit before it in seconds; NaN: not known.
type Started struct {
	Count
	Silence []float64
}

func (s *Started) add(at capture.Tick, silence float64) {
	s.Count.add(at)
	if len(s.Silence) < MostTimes {
		s.Silence = append(s.Silence, silence)
	}
}

// Dialogue holds what units do in answer to each other. Pairs stand in the order of Facts.Senders.
type Dialogue struct {
	Unasked     Count // replies that no poll asked for, of replies
	Doubled     Count // second replies to one poll, of polls with a reply
	Foreign     Count // good replies from another address than was asked, of those with both addresses
	WrongAnswer Count // good replies of a kind that may not answer the poll, of those whose poll names kinds
	Early       Count // replies sooner than the link allows, of turn-arounds

	Repeated    Count // polls sent again, of polls that follow one without a good reply in time
	Ignored     Count // polls sent again, of polls that follow one with a good reply in time
	Interleaved Count // polls one period after the last but one and not after the last, of those with two before them
	Elsewhere   Count // frames of the controller's kinds at the responder's level of space, of frames of those kinds
	Overlaps    Count // frames that begin inside the other side's, and polls while a reply is due, of frames with one before

	Slow                     Count   // episodes of slow polls, at the poll before the first slow interval, of polls with one before
	SlowAfterGood            Times   // of them, those that follow a good reply: the unit sleeps, or did not hear it
	SlowSeconds, PaceSeconds float64 // intervals between polls: slow ones, all

	Silences  Count // longer than max(10 poll periods, 3 slow ones), at the end of the frame before, of intervals
	Longest   float64
	LongestAt capture.Tick

	Starts   [2]Started // by frames that are sent only then, of the side's good frames
	Resets   [2]Started // by counters that fell to 0 out of turn and went on from there, of counters with one before
	Together Times      // starts within startsTogether of one of the other side, at the later one
	Faults   [2]Count   // silences of that side after which the other shows a communication fault, at that instant, of its good frames

	Seconds float64 // from first to last frame, gaps left out
}

// Of a silence longer than silencePolls poll periods and silenceSlow slow ones no schedule says anything.
const (
	silencePolls = 10
	silenceSlow  = 3
)

// startsTogether is how far apart two units start that lost their mains together, s. An assumption with no source.
const startsTogether = 5.0

// follower follows the dialogue frame by frame.
type follower struct {
	*Dialogue
	p     *link.Profile
	clock capture.Clock
	schedule
	limits
	counters []counter // by shape
	last     asked     // newest poll
	before   asked     // the one before it
	polls    int       // of the two, how many are known without a break, and of known side
	answers  int       // replies to last
	owed     int       // polls before last that had none

	any     bool // a frame has come since nothing was known
	end     capture.Tick
	endOf   int // its sender; -1: nobody's
	sides   [2]talker
	slowing bool
}

// talker is what was last heard of one side.
type talker struct {
	frames   int64
	heard    bool
	end      capture.Tick
	good     bool // lastGood is known
	lastGood capture.Tick
	starting bool         // its last frame was one of a start
	start    capture.Tick // its last start
	began    bool         // it is known
}

// limits of the link in ticks; 0: not known.
type limits struct{ least, due, silence, fault, bit capture.Tick }

func newFollower(d *Dialogue, p *link.Profile, c capture.Clock) *follower {
	t := &p.Timing
	f := &follower{Dialogue: d, p: p, clock: c, counters: newCounters(p), endOf: -1}
	f.schedule = newSchedule(t, c)
	f.least, f.fault, f.bit = c.Ticks(t.TurnaroundMin), c.Ticks(t.FaultAfter), c.Ticks(1/p.Speed())
	f.silence = c.Ticks(max(silencePolls*t.PollPeriod, silenceSlow*t.SlowPeriod))
	f.due = c.Ticks(t.TurnaroundMax)
	if t.RetryAfter > 0 {
		f.due = min(f.due, c.Ticks(0.9*t.RetryAfter))
	} else if t.Retries > 0 {
		f.due = 0 // who knows how soon a poll may come again
	}
	d.measured(p)
	return f
}

// measured says which facts this profile lets be told. What was learned from the recording itself cannot contradict it.
func (d *Dialogue) measured(p *link.Profile) {
	t := &p.Timing
	levels := p.Line.Mid && p.Feed != capture.SideUnknown && !p.FeedAssumed
	kinds := has(p, p.Controller, func(*link.Shape) bool { return true }) && has(p, p.Responder, func(*link.Shape) bool { return true })
	tells := t.TwoTalkers && !p.Learned && (levels || kinds)
	d.Unasked.Measured, d.Doubled.Measured, d.Overlaps.Measured = tells, tells, tells
	d.Foreign.Measured = tells && p.Address != nil
	d.WrongAnswer.Measured = tells && has(p, p.Controller, func(s *link.Shape) bool { return len(s.Answers) > 0 })
	d.Early.Measured = tells && t.TurnaroundMin > 0
	d.Ignored.Measured = tells && (has(p, p.Controller, counts) || t.RetryAfter > 0 && t.PollPeriod > 0)
	d.Repeated.Measured = d.Ignored.Measured
	d.Interleaved.Measured = tells && t.PollPeriod > 0
	d.Elsewhere.Measured = tells && levels && kinds
	d.Slow.Measured = tells && t.PollPeriod > 0 && t.SlowPeriod > slowRatio*t.PollPeriod
	d.Silences.Measured = t.PollPeriod > 0 || t.SlowPeriod > 0
	for i, side := range [...]capture.Side{p.Controller, p.Responder} {
		d.Starts[i].Measured = tells && has(p, side, func(s *link.Shape) bool { return s.Start })
		d.Resets[i].Measured = tells && has(p, side, counts)
		d.Faults[i].Measured = tells && t.FaultAfter > 0
	}
}

// has tells whether a side has a kind of frame of its own of which what holds.
func has(p *link.Profile, side capture.Side, what func(*link.Shape) bool) bool {
	for i := range p.Shapes {
		if s := &p.Shapes[i]; s.From == side && side != capture.SideUnknown && what(s) {
			return true
		}
	}
	return false
}

// heard is what the fold made of a frame.
type heard struct {
	role  role
	side  int  // its sender; -1: nobody
	asked bool // a poll stood unanswered before it
}

// add folds the next frame.
func (f *follower) add(r *link.Frame, h heard) {
	if r.Begins {
		f.forget()
	}
	f.silent(r.At)
	f.overlap(r, h)
	whole := r.Why&(link.WhyUnframed|link.WhyCut) == 0
	switch {
	case h.side >= 0 && whole:
		f.exchange(r, h)
		f.started(r, h)
		f.faulty(h.side, r)
	case h.side >= 0:
		f.sides[h.side].frames++
	}
	f.Seconds += f.clock.Seconds(max(0, r.End-f.since(r.At)))
	if !f.any || r.End > f.end {
		f.end, f.endOf = r.End, h.side
	}
	f.any = true
}

// since is the end of the frame before, or now where none is known.
func (f *follower) since(now capture.Tick) capture.Tick {
	if f.any {
		return f.end
	}
	return now
}

// exchange takes a whole frame as a poll or a reply.
func (f *follower) exchange(r *link.Frame, h heard) {
	if h.role == elsewhere || h.role == polls {
		f.Elsewhere.countIf(f.p, r, h.role == elsewhere)
	}
	switch {
	case h.role == elsewhere:
	case h.side == 0 && r.Poll:
		f.poll(r, h.role == polls)
	case h.side == 1 && h.role == replies:
		f.reply(r, h.asked)
	}
}

// forget drops what is known of the time before a gap.
func (f *follower) forget() {
	f.polls, f.answers, f.owed, f.any, f.slowing = 0, 0, 0, false, false
	for i := range f.sides {
		f.sides[i] = talker{frames: f.sides[i].frames + 1<<32} // a counter from before it proves nothing
	}
}

// overlap looks for frames that begin when another runs or is due.
func (f *follower) overlap(r *link.Frame, h heard) {
	if !f.Overlaps.Measured || !f.any || h.side < 0 || r.Why&(link.WhyUnframed|link.WhyCut) != 0 {
		return
	}
	inside := r.At < f.end-f.bit && f.endOf >= 0 && f.endOf != h.side
	wait := r.At - f.last.end
	early := h.role == polls && h.asked && f.polls > 0 && f.last.good && r.OK() && wait < f.due && f.due > 0
	f.Overlaps.chance(inside || early, r.At)
}
