package verdict

import (
	"math"

	"linewitness/capture"
	"linewitness/decode/cause"
	"linewitness/decode/validate"
)

// sign is one physical sign of causes: how strongly it shows in a recording, as a candidate would have it. 0: it does not
// show, or this tap can't measure it.
type sign struct {
	id       string // stable: group and quantity; the model file names it
	evidence string // id of the evidence that words it
	of       func(r *reading, k Key) float64
	speaks   []speaks
}

// way is what a sign may say of a cause. Physics gives each sign's direction; the fit finds only how much it is worth.
type way int8

const (
	against way = iota - 1
	between     // it depends on what else shows
	inFavour
)

// speaks names causes that a sign speaks for or against; of all others it says as much as of a sound line.
type speaks struct {
	way    way
	causes []cause.Cause
}

func pro(c ...cause.Cause) speaks   { return speaks{inFavour, c} }
func con(c ...cause.Cause) speaks   { return speaks{against, c} }
func maybe(c ...cause.Cause) speaks { return speaks{between, c} }

// Groups of causes that share a sign.
var (
	allWiring = []cause.Cause{cause.OpenConductor, cause.ShortedConductors, cause.ReversedConductors, cause.VoltageSag, cause.MainsHum, cause.ImpulseNoise,
		cause.Crosstalk, cause.PoorJoint, cause.IntermittentContact, cause.ExcessCapacitance, cause.Leakage}
	dead      = []cause.Cause{cause.OpenConductor, cause.ShortedConductors, cause.ReversedConductors, cause.NoPower, cause.StuckSender, cause.LoopSupply}
	lossy     = []cause.Cause{cause.VoltageSag, cause.MainsHum, cause.ImpulseNoise, cause.Crosstalk, cause.PoorJoint, cause.IntermittentContact, cause.ExcessCapacitance, cause.Leakage, cause.LoopSupply, cause.ProbeArtefact}
	allBoards = []cause.Cause{cause.SilentSender, cause.DeafReceiver, cause.StuckSender, cause.ClockOff, cause.DriverDistortion, cause.BadChecksum, cause.LateReplies, cause.Restarts, cause.LoopSupply}
	allSetups = []cause.Cause{cause.NoPower, cause.SpeedMismatch, cause.TwoControllers, cause.WrongLink, cause.Addressing, cause.ProbeArtefact}
)

// everything is every cause but none and other.
func everything() []cause.Cause {
	var all []cause.Cause
	for _, c := range cause.All() {
		if c != cause.None {
			all = append(all, c)
		}
	}
	return all
}

// reading is a recording as its signs are read.
type reading struct {
	in     *Input
	facts  *validate.Facts // nil: no talk
	volts  *Volts          // nil, or judged ones
	levels bool            // levels were judged
}

func newReading(in *Input) *reading {
	r := &reading{in: in, facts: in.Facts}
	if in.Volts != nil {
		r.volts = in.Volts
		r.levels = in.Volts.Dropped == "" && !in.Volts.OnlyMains
	}
	return r
}

// alone tells whether one sender is heard on a line of which nothing says that two should talk.
func (r *reading) alone() bool { return r.facts != nil && len(r.facts.Senders) == 1 }

// own is the place of the candidate's unit among the senders; -1: it is at the line, or its sender is not known.
func (r *reading) own(k Key) int {
	if r.facts == nil {
		return -1
	}
	for i := range r.facts.Senders {
		if r.facts.Senders[i].Side == k.Side && k.Side != capture.SideUnknown {
			return i
		}
	}
	return -1
}

// atOwn reads a figure of the candidate's own sender; of a cause at the line, the greater one.
func atOwn(figure func(r *reading, i int) float64) func(*reading, Key) float64 {
	return func(r *reading, k Key) float64 {
		if r.facts == nil || len(r.facts.Senders) == 0 {
			return 0
		}
		if i := r.own(k); i >= 0 {
			return number(figure(r, i))
		}
		if k.Side != capture.Line && k.Side != capture.SideUnknown {
			return 0 // a unit that is not heard
		}
		most := math.Inf(-1)
		for i := range r.facts.Senders {
			most = math.Max(most, number(figure(r, i)))
		}
		return most
	}
}

// atOther reads a figure of the other sender; of a cause at the line, the lesser one. 0 where one talks.
func atOther(figure func(r *reading, i int) float64) func(*reading, Key) float64 {
	return func(r *reading, k Key) float64 {
		if r.facts == nil || len(r.facts.Senders) != 2 {
			return 0
		}
		if i := r.own(k); i >= 0 {
			return number(figure(r, 1-i))
		}
		return math.Min(number(figure(r, 0)), number(figure(r, 1)))
	}
}

// plain reads a figure that is the same for every candidate.
func plain(figure func(r *reading) float64) func(*reading, Key) float64 {
	return func(r *reading, _ Key) float64 { return number(figure(r)) }
}

// ofVolts reads a figure of judged levels.
func ofVolts(figure func(v *Volts) float64) func(*reading, Key) float64 {
	return func(r *reading, _ Key) float64 {
		if !r.levels {
			return 0
		}
		return number(figure(r.volts))
	}
}

// number is 0 where nothing was measured.
func number(x float64) float64 {
	if x != x {
		return 0
	}
	return x
}

// most is how strongly any sign can show.
const mostShown = 3

// ramp grows from 0 at from to 1 at to, and no further than 3.
func ramp(x, from, to float64) float64 {
	return math.Max(0, math.Min(mostShown, (x-from)/(to-from)))
}

// counted grows with a number of events: 1 at one of them, 3 at 15 and more.
func counted(n int64) float64 {
	if n <= 0 {
		return 0
	}
	return math.Min(mostShown, 1+math.Log2(float64(n))/2)
}

// rate is how much k events among n chances speak of a rate that may be any, against that of a sound line: in units of 4 bits,
// -1.5 to 3.
func rate(k, n float64) float64 {
	if n <= 0 {
		return 0
	}
	k = math.Min(k, n)
	b := bits(betaBinomial(k, n-k, 1, 1) - betaBinomial(k, n-k, soundA, soundB))
	return math.Max(-1.5, math.Min(mostShown, b/4))
}

// shown and unshown are the two halves of a rate.
func shown(x float64) float64   { return math.Max(0, x) }
func unshown(x float64) float64 { return math.Max(0, -x) }

func truth(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

// signs are all of them, in a fixed order.
func signs() []sign {
	var all []sign
	for _, group := range [][]sign{lossSigns(), silenceSigns(), levelSigns(), supplySigns(), mainsSigns(), edgeSigns(), noiseSigns(), dialogueSigns(), structureSigns()} {
		all = append(all, group...)
	}
	return all
}
