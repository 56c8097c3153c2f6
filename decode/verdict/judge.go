package verdict

import (
	"fmt"
	"math"
	"slices"

	"linewitness/capture"
	"linewitness/decode/cause"
	"linewitness/decode/check"
	"linewitness/decode/validate"
)

// Input is what a judgement stands on.
type Input struct {
	Facts     *validate.Facts // nil: no talk could be read
	Signals   []Signal        // one for each of Facts.Senders
	List      []validate.Fact // the facts with their statistics
	Tap       capture.Tap
	Changes   int64          // transitions seen
	Volts     *Volts         // nil: no volts were recorded
	Second    float64        // ticks
	Learned   bool           // the link was learned from the recording itself
	Space     validate.Times // at a tap of two levels: how often the line stood at space for longer than any character, and when it began
	SpaceS    float64        // s, in all
	SpaceEnds bool           // it stood there at the end

	Readings []check.Reading // what somebody read by hand
	Bare     bool            // nothing was recorded: there are readings alone
}

// Signal is what was measured of one sender. NaN: not measured.
type Signal struct{ PPM, PM, BiasPct float64 }

// Judged is the answer with all that it stands on.
type Judged struct {
	Verdict    Verdict
	Candidates []Candidate
	Also       []Candidate // what explains losses that the verdict does not
	Evidence   []Evidence
	Cleared    []Cleared
	Prior      Prior
	About      *check.Case // the line as recording and readings show it, for what to check next
	Repeat     string      // the check whose reading fits nothing else; empty: none
}

// sure is the least probability at which a candidate becomes the verdict.
const sure = 0.6

// Judge weighs the facts. Each candidate's probability is its prior times the likelihood of what was counted; every
// piece of evidence carries log2 of its likelihood ratio against sound, so that prior and evidence add up.
func Judge(in Input) Judged {
	j := gather(in)
	j.weigh(shipped()[classOf(&j.in)])
	return j.answer()
}

// gather lists the evidence of a recording, each with what it says by itself.
func gather(in Input) *judge {
	in.Facts = named(in.Facts)
	j := &judge{in: in, keys: candidateKeys(&in), about: newCase(&in)}
	j.sampling(in.Volts)
	if in.Facts != nil {
		j.count()
		j.losses()
		j.pulses()
		j.talks()
		j.nobodyAnswers()
		j.atSpace()
		j.signals()
		j.dialogue()
		j.current()
		j.swapped()
	}
	j.learned()
	j.levels()
	j.tests()
	for i := range j.evidence {
		j.evidence[i].clip()
	}
	return j
}

type judge struct {
	in       Input
	keys     []Key
	seen     seen
	evidence []Evidence
	about    *check.Case

	lossWeight float64 // of the evidence of losses

	live        bool // L itself stands on the line at times
	supplyMoves bool // mark keeps to two heights, and high with it
}

// count sorts the facts into what the candidates explain.
func (j *judge) count() {
	f := j.in.Facts
	j.seen.facts = f
	j.seen.levels = j.in.Volts != nil && j.in.Volts.Dropped == ""
	j.seen.stopped = j.stopped()
	for i := range f.Senders {
		s := &f.Senders[i]
		j.seen.sides = append(j.seen.sides, s.Side)
		clean := float64(s.Clean.N)
		if j.unproven(s) {
			clean = 0
		}
		j.seen.frames = append(j.seen.frames, lost{float64(s.Good), clean, float64(s.Dirty.N + s.Unframed.N), s.Course})
	}
	// A board's own pin may carry that board alone: nothing follows from a silent other side there.
	if f.TwoTalk && (j.in.Tap != capture.BoardPin || f.Senders[1].Frames > 0) {
		r := &f.Senders[1]
		j.seen.replies = lost{good: float64(f.Answered), dirty: float64(r.Missing.N), course: f.Replies}
		j.seen.late = lost{good: float64(r.Turn.N() - r.Late.N), dirty: float64(r.Late.N)}
	}
}

// total is all that could be lost and all that was.
func (s *seen) total() (lost, of float64) {
	for _, l := range s.frames {
		lost += l.bad()
		of += l.bad() + l.good
	}
	lost += s.replies.dirty + s.late.dirty
	of += s.replies.dirty
	return lost, of
}

// losses is the joint evidence of all frames, good, bad, missing and late; what they are made of is told apart below it.
func (j *judge) losses() {
	lost, of := j.seen.total()
	if of == 0 {
		return
	}
	low, high := Wilson(min(lost, of), of)
	e := Evidence{ID: "losses", Value: 100 * lost / of, Low: 100 * low, High: 100 * high, Unit: "%", Bits: map[Key]float64{}}
	e.Says = fmt.Sprintf("%.0f of %.0f frames and replies due were bad, late or missing", lost, of)
	if lost == 0 {
		e.Says = fmt.Sprintf("all %.0f frames and replies due stood on the line, whole and in time", of)
	}
	sound := j.seen.logLosses(Key{cause.None, capture.None})
	for _, k := range j.keys[1:] {
		e.Bits[k] = bits(j.seen.logLosses(k) - sound)
	}
	var at []capture.Tick
	f := j.in.Facts
	for i := range f.Senders {
		s := &f.Senders[i]
		who := SideName(s.Side)
		j.detail(&at, "checksum-clean-bits-"+s.Side.String(), s.Clean, s.Frames, "frames of "+who+" with clean bits and a wrong checksum")
		j.detail(&at, "damaged-"+s.Side.String(), s.Dirty, s.Frames, "frames of "+who+" with damaged characters, pulses or pauses")
		j.detail(&at, "unframed-"+s.Side.String(), s.Unframed, s.Frames+s.Unframed.N, "bursts in the turn of "+who+" that have not the shape of a frame")
		j.detail(&at, "late-"+s.Side.String(), s.Late, s.Turn.N(), "replies of "+who+" that began later than the link allows")
		j.detail(&at, "missing-"+s.Side.String(), s.Missing, f.Solicited, "good polls that "+who+" did not answer")
	}
	slices.Sort(at)
	e.At = at[:min(len(at), validate.MostTimes)]
	j.evidence = slices.Insert(j.evidence, 0, e)
}

// detail says one kind of event apart. It moves no probability by itself: the joint evidence has counted it.
func (j *judge) detail(all *[]capture.Tick, id string, t validate.Times, of int64, what string) {
	if t.N == 0 {
		return
	}
	e := Evidence{ID: id, Says: fmt.Sprintf("%d %s", t.N, what), Value: float64(t.N), Low: math.NaN(), High: math.NaN(),
		Unit: "count", At: t.At}
	if of > 0 {
		low, high := Wilson(float64(t.N), float64(of))
		e.Says = fmt.Sprintf("%d of %d %s", t.N, of, what)
		e.Value, e.Low, e.High, e.Unit = 100*float64(t.N)/float64(of), 100*low, 100*high, "%"
	}
	if all != nil {
		*all = append(*all, t.At...)
	}
	j.evidence = append(j.evidence, e)
}

// pulses weighs episodes of pulses too short for a bit, against as many chances as there were frames.
func (j *judge) pulses() {
	f := j.in.Facts
	if f.Pulses.N == 0 {
		return
	}
	frames := 0.0
	for i := range f.Senders {
		frames += float64(f.Senders[i].Frames)
	}
	n := float64(f.Pulses.N)
	l := lost{good: frames, dirty: n}
	e := Evidence{ID: "short-pulses", Value: n, Low: math.NaN(), High: math.NaN(), Unit: "count", At: f.Pulses.At, Bits: map[Key]float64{}}
	e.Says = fmt.Sprintf("%d episodes of pulses too short for a bit (%d pulses, %d of them marks inside spaces) or of bursts in nobody's turn",
		f.Pulses.N, f.Glitches.N, f.GlitchMark)
	hit := bits(logMean([]float64{l.logHit(dirty, effect{}), l.logSound()}) - l.logSound())
	if each := float64(f.Glitches.N) / n; n >= fewTrains && each > pulsesOfOne {
		hit += math.Min(mostTrain, 2*math.Log2(each/pulsesOfOne)) // a stray pulse comes alone
	}
	lost, _ := j.seen.total()
	if j.in.Volts != nil && j.in.Volts.HalfWave {
		hit = 0 // the dark half cycles make such
	}
	for _, k := range j.keys {
		switch {
		case lost == 0 && (k.Cause == cause.TwoControllers || k.Cause == cause.Addressing || k.Cause == cause.LateReplies): // theirs come of frames that meet
		case pulses(k.Cause, 2*f.GlitchMark > f.Glitches.N), f.Glitches.N == 0 && j.seen.stopped && ends(k.Cause):
			e.Bits[k] = hit
		}
	}
	j.evidence = append(j.evidence, e)
}

// A train of many pulses is made, not stray: what it is worth beside its being there, from so many pulses on. Assumptions without a source.
const (
	pulsesOfOne = 3
	mostTrain   = 12.0
	fewTrains   = 3
)

// quiet tells that no short pulse and no spike was seen where they would have been.
func (j *judge) quiet() bool {
	if v := j.in.Volts; v != nil && v.Dropped == "" && v.Spikes.N > 0 {
		return false
	}
	return j.in.Facts == nil || j.in.Facts.Glitches.N == 0
}

// talks: who sends good frames has power; a poller that polls is not silent.
func (j *judge) talks() {
	f := j.in.Facts
	for i := range f.Senders {
		s := &f.Senders[i]
		if s.Good < 3 {
			continue
		}
		e := Evidence{ID: "talks-" + s.Side.String(), Value: float64(s.Good), Low: math.NaN(), High: math.NaN(), Unit: "count",
			Says: fmt.Sprintf("%s sent %d good frames, so it has power and can send", SideName(s.Side), s.Good), Bits: map[Key]float64{}}
		for _, k := range j.keys {
			if !f.TwoTalk {
				break // the other unit was not heard: it may be the silent one
			}
			if j.bothRead() && (k.Cause == cause.WrongLink || k.Cause == cause.SpeedMismatch) {
				e.Bits[k] = -rarely // once for each
			}
			if k.Side == s.Side && !j.stopped() && (k.Cause == cause.NoPower || i == 0 && k.Cause == cause.SilentSender) {
				e.Bits[k] = -20
			}
		}
		j.evidence = append(j.evidence, e)
	}
}

// fewAlone is how many polls must stay without any answer for that to be a sign.
const fewAlone = 10

// nobodyAnswers: who polls and hears nothing at all is not alone on a sound line. A board's own pin need not carry the other unit.
func (j *judge) nobodyAnswers() {
	f := j.in.Facts
	if f.TwoTalk || len(f.Senders) != 1 || f.Senders[0].Good < fewAlone || j.in.Tap == capture.BoardPin || j.in.Tap == capture.TapUnknown {
		return
	}
	polls := f.Senders[0].Side
	says := fmt.Sprintf("%s sent %d good frames, and nothing on the line answers", SideName(polls), f.Senders[0].Good)
	j.say("talks-alone", says, float64(f.Senders[0].Good), "count", nil, func(k Key) float64 {
		switch k.Cause {
		case cause.SilentSender, cause.NoPower:
			if k.Side != polls {
				return shows
			}
		case cause.OpenConductor, cause.Addressing, cause.SpeedMismatch, cause.OtherCause:
			return shows
		case cause.ReversedConductors, cause.WrongLink, cause.ProbeArtefact:
			return hints
		}
		return 0
	})
}

// bothRead tells that good frames of both units were read: one speed and one form fit them.
func (j *judge) bothRead() bool {
	f := j.in.Facts
	return len(f.Senders) == 2 && f.Senders[0].Good >= 3 && f.Senders[1].Good >= 3
}

// stopped tells that the talk ended, or paused for longer than polls do: what talked before need not do so now.
func (j *judge) stopped() bool {
	if j.in.Space.N > 0 || j.in.Volts != nil && j.in.Volts.Held.N > 0 {
		return true
	}
	f := j.in.Facts
	for i := range f.Senders {
		if endsBad(&f.Senders[i].Course) {
			return true
		}
	}
	return f.Dialogue.Silences.Measured && f.Dialogue.Silences.N > 0
}

// atSpace: a line that stands at space for long is open, shorted, unfed or held by a unit, as volts away from mark are.
func (j *judge) atSpace() {
	if j.in.Space.N == 0 {
		return
	}
	says := fmt.Sprintf("the line stood at space %s for longer than any character, %.1f s in all: no talk does that", times(j.in.Space.N), j.in.SpaceS)
	j.say("held-at-space", says, j.in.SpaceS, "s", j.in.Space.At, func(k Key) float64 {
		switch k.Cause {
		case cause.OpenConductor, cause.IntermittentContact, cause.PoorJoint, cause.StuckSender, cause.NoPower, cause.ShortedConductors, cause.LoopSupply:
			return stands - j.passing(k.Cause, j.in.Space.N, j.in.SpaceEnds)
		}
		return 0
	})
}

// passing is what a cause loses by how a hold ended: a contact closes again, and what lasts does not end by itself.
func (j *judge) passing(c cause.Cause, times int64, ends bool) float64 {
	closes := c == cause.IntermittentContact || c == cause.PoorJoint
	switch {
	case c == cause.IntermittentContact && j.quiet():
		return rarely + 1 // it bounces
	case c == cause.PoorJoint && ends:
		return never
	case c == cause.PoorJoint:
		return rarely // it is on its way to a contact that opens
	case closes && ends && times == 1:
		return rarely
	case !closes && !ends && (c == cause.StuckSender || c == cause.NoPower): // a unit may let go, or be switched on again
		return rarely
	case !closes && !ends:
		return hardly
	}
	return 0
}

// signals weighs each sender's clock and bias.
func (j *judge) signals() {
	for i, m := range j.in.Signals {
		s := &j.in.Facts.Senders[i]
		if !math.IsNaN(m.PPM) && !math.IsNaN(m.PM) {
			b := clockBits(m.PPM, m.PM)
			e := Evidence{ID: "clock-" + s.Side.String(), Value: m.PPM, Low: m.PPM - m.PM, High: m.PPM + m.PM, Unit: "ppm",
				Bits: map[Key]float64{}, Says: fmt.Sprintf("the clock of %s is %+.0f ppm off the nominal speed (+-%.0f)", SideName(s.Side), math.Round(m.PPM)+0, m.PM)}
			for _, k := range j.keys {
				if k.Cause == cause.SpeedMismatch && j.outlier() < 0 && i == 0 {
					e.Bits[k] = -rarely // the other is heard neither at this speed nor at another
				}
				if k.Cause == cause.ClockOff && k.Side == s.Side || k.Cause == cause.SpeedMismatch && j.outlier() == i || k.Cause == cause.WrongLink && b > 0 && j.whole() == 0 {
					e.Bits[k] = b
				}
			}
			j.evidence = append(j.evidence, e)
		}
		if !math.IsNaN(m.BiasPct) {
			lost, of := j.seen.total()
			shared := j.sharedBias()
			b := biasBits(m.BiasPct-shared, 20*lost > of)
			if s.Good == 0 {
				b = math.Max(-mostUnread, math.Min(mostUnread, b)) // nothing says that its bits were read as such
			}
			e := Evidence{ID: "bias-" + s.Side.String(), Value: m.BiasPct, Low: math.NaN(), High: math.NaN(), Unit: "% of a bit",
				Bits: map[Key]float64{}, Says: biasSays(SideName(s.Side), m.BiasPct)}
			for _, k := range j.keys {
				switch {
				case !distorts(k.Cause) || k.Side != s.Side && k.Side != capture.Line:
				case shared != 0 && k.Side == capture.Line: // the cable's edges, or the threshold of whoever looks
					e.Bits[k] = math.Max(b, math.Min(mostShared, biasBits(m.BiasPct, 20*lost > of))/2)
				case j.in.Volts.shapesKnown() && j.in.Volts.Curved && k.Cause == cause.ExcessCapacitance:
					e.Bits[k] = math.Max(b, 0) // its edges, which are judged themselves
				case j.in.Volts.shapesKnown() && j.in.Volts.Curved == (k.Cause == cause.DriverDistortion):
					e.Bits[k] = math.Min(b, 0) // not its edges: it cannot be what shifts them
				default:
					e.Bits[k] = b
				}
			}
			j.evidence = append(j.evidence, e)
		}
	}
}

// outlier is the sender whose clock is furthest off, where both are measured; -1: one is not, and a unit at another speed may be the one
// that is not read at all.
func (j *judge) outlier() int {
	most, far := -1, -1.0
	for i, m := range j.in.Signals {
		if math.IsNaN(m.PPM) || math.IsNaN(m.PM) {
			return -1
		}
		if d := math.Abs(m.PPM); d > far {
			most, far = i, d
		}
	}
	if len(j.in.Signals) < 2 {
		return -1
	}
	return most
}

// sharedBias is what the biases of two senders have in common at a tap of two levels: one threshold, that of the receiver or of the probe,
// shortens or lengthens the marks of both alike, and no board does that to the other's. 0: there is none.
func (j *judge) sharedBias() float64 {
	if j.in.Volts.shapesKnown() || len(j.in.Signals) != 2 {
		return 0
	}
	a, b := j.in.Signals[0].BiasPct, j.in.Signals[1].BiasPct
	if !(a*b > 0) {
		return 0
	}
	return math.Copysign(math.Min(math.Abs(a), math.Abs(b)), a)
}

// mostShared is what a bias says of a cable that both senders have, at most: a threshold out of the middle does the same.
const mostShared = 2.0

// mostUnread is what the bias of a sender says of which no frame was whole, at most.
const mostUnread = 4.0

// current: good frames in the loop's own current prove that the loop is closed and fed.
func (j *judge) current() {
	f := j.in.Facts
	if j.in.Tap != capture.LoopCurrent || f.Senders[0].Good < 3 || j.in.Space.N > 0 {
		return
	}
	e := Evidence{ID: "loop-closed", Value: float64(f.Senders[0].Good), Low: math.NaN(), High: math.NaN(), Unit: "count",
		Says: "current flows and carries good frames: the loop is closed and its supply lives", Bits: map[Key]float64{}}
	for _, k := range j.keys {
		switch k.Cause {
		case cause.OpenConductor, cause.ShortedConductors, cause.ReversedConductors, cause.NoPower, cause.Addressing: // a loop joins two units only
			e.Bits[k] = -20
		}
	}
	j.evidence = append(j.evidence, e)
}

// learned: what was learned from the line fits the line; only a profile can say that it is another one's. Where a checksum was
// learned that no frame of one sender fulfils, it may be the other one's only.
func (j *judge) learned() {
	if !j.in.Learned || j.in.Facts == nil {
		return
	}
	for i := range j.in.Facts.Senders {
		if s := &j.in.Facts.Senders[i]; j.unproven(s) {
			j.say("unproven-"+s.Side.String(), "no frame of "+SideName(s.Side)+
				" fulfils the checksum, which was learned from the other frames: a profile must say whether both have the same", math.NaN(), "", nil,
				func(k Key) float64 {
					if k.Cause == cause.BadChecksum && k.Side == s.Side {
						return hardly // about as likely as that they differ by design
					}
					return 0
				})
			return
		}
	}
	j.say("learned", "the link was learned from this recording: whether it is the right one for these units cannot be told", math.NaN(), "",
		nil, only(-6, cause.WrongLink))
}

// unproven tells that a checksum learned from the recording holds for no frame of a sender: it may be the other one's only, so its wrong
// sums are no losses.
func (j *judge) unproven(s *validate.Sender) bool {
	return j.in.Learned && s.Good == 0 && s.Clean.N > 0
}

// SideName is a side in words.
func SideName(s capture.Side) string {
	switch s {
	case capture.Indoor, capture.Outdoor:
		return "the " + s.String() + " unit"
	case capture.SideA:
		return "talker a (polls)"
	case capture.SideB:
		return "talker b (answers)"
	}
	return "the sender"
}

// biasSays words a bias.
func biasSays(who string, pct float64) string {
	what := "lengthens marks"
	if pct < 0 {
		what, pct = "shortens marks", -pct
	}
	return fmt.Sprintf("%s %s by %.1f %% of a bit", who, what, pct)
}
