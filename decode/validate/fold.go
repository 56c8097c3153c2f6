package validate

import (
	"math"

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

// Sender holds the facts of one side.
type Sender struct {
	Side                                   capture.Side
	Frames, Good                           int64
	Checksum, Parity, Stop, Length, Timing Times // frames that broke the rule
	Clean                                  Times // clean bits, wrong checksum
	Dirty                                  Times // bad frames whose bits are not clean
	Unframed                               Times // bursts in this side's turn without a frame's shape
	Missing                                Times // polls of the other side, good ones, that were not answered
	Late                                   Times // replies later than the link allows
	Swapped                                Times // frames that are whole only with mark and space exchanged
	Fit                                    uart.Fit
	Turn                                   Sketch // seconds
	bias, lean, iso                        Sketch // of the unit interval; lean beside bias
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
	Solicited  int64 // good polls that had the time to be answered
}

// Fold folds frames in order of time. It holds the state of the dialogue.
type Fold struct {
	Facts
	p       *link.Profile
	clock   capture.Clock
	turnMax capture.Tick
	asked   bool // a poll stands unanswered
	good    bool // that poll was good
	pollEnd capture.Tick
	pollAt  capture.Tick
	pollOf  [2]uint16
	rest    capture.Tick // length of the rest that ends an episode
	pulse   capture.Tick // last short pulse
	pulsed  bool
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
	return f
}

// Glitch folds one glitch.
func (f *Fold) Glitch(g *uart.Glitch) {
	f.Glitches.add(g.At)
	if g.Mark {
		f.GlitchMark++
	}
	f.episode(g.At)
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
	s := f.turn(r)
	if s == nil {
		f.stray(r)
		return
	}
	r.Side = s.Side
	if r.Why&link.WhyCut != 0 {
		f.Cut++
		return
	}
	if r.Why&link.WhyUnframed != 0 {
		f.Unframed++
		s.Unframed.add(r.At)
		return
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

// turn decides whose frame it is: a poll, or the reply to the one that stands; nil: nobody's.
func (f *Fold) turn(r *link.Frame) *Sender {
	if !f.TwoTalk {
		return &f.Senders[0]
	}
	wait := r.At - f.pollEnd
	replies, told := f.told(r)
	if !told {
		replies = f.reply(r, wait)
	}
	if replies {
		s := &f.Senders[1]
		if !f.asked {
			return s // its poll was not seen
		}
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
		}
		return s
	}
	if r.Why&(link.WhyUnframed|link.WhyCut) != 0 { // no poll that anyone could answer
		if told {
			return &f.Senders[0]
		}
		return nil
	}
	f.unanswered(r.At)
	f.asked, f.good = true, r.OK()
	f.pollAt, f.pollEnd = r.At, r.End
	f.pollOf = [2]uint16{}
	copy(f.pollOf[:], r.Values)
	r.Poll = true
	return &f.Senders[0]
}

// told tells from the level whether the responder sent r, where levels name the sender.
func (f *Fold) told(r *link.Frame) (replies, ok bool) {
	s := f.p.SideOf(r.Space)
	return s == f.p.Responder, s != capture.SideUnknown
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
}

// Finish counts a last poll that had the time to be answered before the recording's end.
func (f *Fold) Finish(end capture.Tick) {
	if f.asked && end-f.pollEnd > f.turnMax && f.TwoTalk {
		f.unanswered(end)
		f.asked = false
	}
}

// frame folds one whole frame into its sender.
func (s *Sender) frame(r *link.Frame, q *Quality, paused, swapped bool) {
	s.Frames++
	if swapped {
		s.Swapped.add(r.At)
	}
	s.Fit.Add(q.Fit)
	s.bias.Add(q.Bias)
	if q.Bias == q.Bias {
		s.lean.Add(q.Lean)
	}
	s.iso.Add(q.Iso)
	if r.OK() {
		s.Good++
		return
	}
	for _, c := range [...]struct {
		why link.Why
		t   *Times
	}{{link.WhyChecksum, &s.Checksum}, {link.WhyParity, &s.Parity}, {link.WhyStop, &s.Stop}, {link.WhyLength, &s.Length}, {link.WhyTiming, &s.Timing}} {
		if r.Why&c.why != 0 {
			c.t.add(r.At)
		}
	}
	switch {
	case r.Why == link.WhyChecksum && !q.Dirty:
		s.Clean.add(r.At)
	case r.Why == link.WhyTiming && !q.Dirty && !paused:
		// whole, only late: counted as such
	default:
		s.Dirty.add(r.At)
	}
}

// SpeedPPM is the sender's speed against the nominal one, with the half width of its 95 % interval, in parts per
// million, positive = fast; NaN where nothing could be fitted.
func (s *Sender) SpeedPPM(p *link.Profile) (ppm, pm float64) {
	slope, stderr := s.Fit.Slope()
	if math.IsNaN(slope) {
		return slope, slope
	}
	return (p.Speed()/(1+slope)/p.Line.Speed - 1) * 1e6, 1.96e6 * stderr
}

// BiasPct is the median bias over frames with the clock's part taken off, in per cent of the unit interval.
func (s *Sender) BiasPct() float64 {
	b := s.bias.Percentile(50)
	if slope, _ := s.Fit.Slope(); !math.IsNaN(slope) && s.lean.N() > 0 {
		b -= slope * s.lean.Percentile(50)
	}
	return 100 * b
}

// IsoPct is the median degree of isochronous distortion within a frame, in per cent.
func (s *Sender) IsoPct() float64 { return 100 * s.iso.Percentile(50) }
