package decode

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"linewitness/capture"
	"linewitness/decode/check"
	"linewitness/decode/link"
	"linewitness/decode/validate"
	"linewitness/decode/verdict"
)

// Finding is what was found so far. It does not disturb the examination.
func (e *Examiner) Finding() *Finding {
	f := &Finding{Recording: e.rec, Link: e.profile, Envelope: e.ways.Clone()}
	in := verdict.Input{Changes: e.rec.Transitions, Readings: e.opt.Readings}
	if e.line != nil {
		e.line.crew.wait()
		e.line.mu.Lock()
		defer e.line.mu.Unlock()
		facts := &e.line.fold.Facts
		in.Facts, in.Learned = facts, e.profile.Learned
		in.Space, in.SpaceS, in.SpaceEnds = e.atSpace()
		f.Unframed = facts.Unframed
		for i := range facts.Senders {
			f.Senders = append(f.Senders, e.sender(&facts.Senders[i]))
		}
		f.Facts = slices.Concat(e.line.fold.FactList(), e.otherLinks(), e.shapes(), e.joined())
		f.Excerpts = e.line.excerpts.Excerpts()
		f.Values = e.line.values.All()
		f.Sums = e.line.talk.Clone()
	}
	if e.seen != nil {
		f.Volts = e.seen.facts(e.profile, e.info.Clock.Seconds(e.rec.To-e.rec.From-e.rec.Lost))
		in.Volts, in.Second = f.Volts, e.info.Clock.PerSecond()
		f.allowForSampling()
		f.allowForHalfWaves()
	}
	e.inferTap(f)
	for _, s := range f.Senders {
		in.Signals = append(in.Signals, verdict.Signal{PPM: s.SpeedErrorPPM, PM: s.SpeedPM, BiasPct: s.BiasPct})
	}
	in.Tap, in.List, f.Basis = f.Recording.Tap, f.Facts, &in
	f.judge()
	f.Caution = check.Caution(f.Recording.Tap.String())
	return f
}

// atSpace is how often, and how long in all, a line of two levels stood at space for longer than any character, and whether it does
// so at the end.
func (e *Examiner) atSpace() (times validate.Times, seconds float64, ends bool) {
	l := e.profile.Line
	if l.Mid {
		return times, 0, false
	}
	at := capture.Low
	if l.Mark() == capture.Low {
		at = capture.High
	}
	return e.stays.at(at, e.info.Clock)
}

// otherLinks is the fact about another link, where one was given.
func (e *Examiner) otherLinks() []validate.Fact {
	if e.other == nil {
		return nil
	}
	return []validate.Fact{e.other.fact}
}

// joined are the facts about loads, and what falls together with dips and with loads; without volts they stand there as what
// cannot be told.
func (e *Examiner) joined() []validate.Fact {
	f, from, to := e.line.fold, e.rec.From, e.rec.To
	if e.seen != nil {
		return slices.Concat(e.seen.loads.Facts(), f.JoinedFacts(e.seen.fallen(), from, to), f.JoinedSteps(e.seen.loads.Steps(), from, to))
	}
	facts := slices.Concat(validate.NewLoads(e.info.Clock).Facts(), f.JoinedFacts(validate.DipEvents{}, from, to), f.JoinedSteps(validate.Times{}, from, to))
	for i := range facts {
		facts[i].Unmeasured = "levels alone show neither dips nor loads"
	}
	return facts
}

// shapes are the facts about the shape of edges.
func (e *Examiner) shapes() []validate.Fact {
	if e.seen == nil {
		return validate.NoEdges()
	}
	return e.seen.edges.FactList()
}

// fallen are the dips of the loop's supply; what only mark shows is the loop's resistance.
func (v *volts) fallen() validate.DipEvents {
	f := v.supply.Facts()
	if f.Both+f.Alone == 0 {
		return validate.DipEvents{}
	}
	return f.Dips
}

// sender puts one side's facts into figures.
func (e *Examiner) sender(s *validate.Sender) Sender {
	ppm, pm := s.SpeedPPM(e.profile)
	return Sender{Side: s.Side, Frames: s.Frames, Good: s.Good,
		Bad:           Bad{Checksum: s.Checksum.N, Parity: s.Parity.N, Stop: s.Stop.N, Length: s.Length.N, Timing: s.Timing.N},
		SpeedErrorPPM: ppm, SpeedPM: pm, BiasPct: s.BiasPct(), IsochronousPct: s.IsoPct(),
		TurnP50: s.Turn.Percentile(50), TurnP99: s.Turn.Percentile(99)}
}

// tapsOfTwo are the taps at which a link of a kind shows two levels.
var tapsOfTwo = map[link.Kind]capture.Tap{link.Loop3: capture.LoopCurrent, link.TwoWire: capture.Pair, link.Logic: capture.BoardPin}

// inferTap names the tap where nobody did: by the levels where there are volts, by the kind of a described link;
// otherwise levels of a link on which two talk look like a pair, of one talker like a board's pin.
func (e *Examiner) inferTap(f *Finding) {
	if f.Recording.Tap != capture.TapUnknown {
		return
	}
	f.Recording.TapInferred = true
	if e.seen != nil {
		if f.Recording.Tap = e.seen.inferred(); f.Recording.Tap != capture.TapUnknown {
			return
		}
	}
	if e.given != nil && e.given.Kind != link.KindUnknown {
		f.Recording.Tap = tapsOfTwo[e.given.Kind]
		return
	}
	f.Recording.Tap = capture.BoardPin
	if len(f.Senders) == 2 {
		f.Recording.Tap = capture.Pair
	}
}

// allowForHalfWaves claims no other reading of a line that is dark for half of the time.
func (f *Finding) allowForHalfWaves() {
	for i := range f.Facts {
		if x := &f.Facts[i]; f.Volts.HalfWave && strings.HasSuffix(x.ID, "-gain") {
			x.Value, x.Low, x.High, x.P = math.NaN(), math.NaN(), math.NaN(), math.NaN()
			x.Unmeasured = "the supply is dark for half of the time, so that levels are not talk alone"
		}
	}
}

// allowForSampling claims no distortion where the samples are too few to tell, and no clock finer than the samples are:
// frames repeat, and their edges may stand in step with the samples, so that only some of the errors average out.
func (f *Finding) allowForSampling() {
	const (
		rounding = 0.29 // standard deviation of an instant that lies evenly within a sample's distance
		bits     = 8    // over which a character's clock is read
		apart    = 10   // characters that differ
	)
	n := f.Volts.SamplesABit
	if math.IsNaN(n) {
		return
	}
	floor := 1.96e6 * rounding / n / bits / math.Sqrt(apart)
	for i := range f.Senders {
		s := &f.Senders[i]
		s.SpeedPM = math.Hypot(s.SpeedPM, floor)
		if f.Volts.DistortionHidden {
			s.BiasPct, s.IsochronousPct = math.NaN(), math.NaN()
		}
	}
	for i := range f.Facts {
		x := &f.Facts[i]
		switch {
		case x.ID == "time.clock" && x.Measured():
			half := math.Hypot((x.High-x.Low)/2, floor)
			x.Low, x.High = x.Value-half, x.Value+half
		case f.Volts.DistortionHidden && validate.Distorted(x.ID):
			x.Value, x.Low, x.High, x.P = math.NaN(), math.NaN(), math.NaN(), math.NaN()
			x.Unmeasured = fmt.Sprintf("%.1f samples a bit; distortion needs %d", n, fewestSamples)
		}
	}
}
