package verdict

import (
	"fmt"
	"math"

	"linewitness/decode/cause"
)

// shifts: mark keeps to one of two heights, and the open states tell what moves it. The drops of diodes and transistors are taken
// off: low is two of them.
func (j *judge) shifts(v *Volts) {
	s := &v.Shift
	if !v.Loop || !s.Found() || v.swings() {
		return
	}
	drop := 0.0
	if s.Low[0] == s.Low[0] && math.Abs(s.Low[0]) < 0.3*math.Abs(s.Mid[0]) {
		drop = s.Low[0] / 2
	}
	mark := (s.Mid[1] - drop) / (s.Mid[0] - drop)
	high := (s.High[1] - 2*drop) / (s.High[0] - 2*drop)
	says := fmt.Sprintf("mark stands at %s V at some times and at %s V at others", v.figure(s.Mid[0]), v.figure(s.Mid[1]))
	var of func(cause.Cause) float64
	switch {
	case math.IsNaN(high):
		says += "; high was not seen at both"
	case math.Abs(high-1) < 0.04:
		says += ", while high stands: a resistance in the loop comes and goes"
		of = some{cause.PoorJoint: strong, cause.IntermittentContact: shows, cause.Leakage: hints, cause.OtherCause: hints}.of
	case high < 1 && math.Abs(mark/high-1) < 0.06:
		says += ", and high with it in proportion: the loop's supply moves"
		j.supplyMoves = true
		of = some{cause.VoltageSag: shows, cause.LoopSupply: shows, cause.OtherCause: hints / 2}.of
	case high < 1 && mark > high:
		says += fmt.Sprintf(", high falls by more (%.0f %% against %.0f %%): something draws current from S", 100*(1-high), 100*(1-mark))
		of = some{cause.Leakage: strong, cause.LoopSupply: hints, cause.OtherCause: hints}.of
	default:
		says += fmt.Sprintf(", high moves by %+.0f %%", 100*(high-1))
		of = some{cause.PoorJoint: hints, cause.Leakage: hints, cause.OtherCause: hints}.of
	}
	j.say("levels-shift", says, 100*(mark-1), "%", nil, func(k Key) float64 {
		switch {
		case of == nil:
			return 0
		case k.Cause == cause.LoopSupply:
			return j.fed(k, v, of(k.Cause))
		}
		return of(k.Cause)
	})
}

// some are bits by cause.
type some map[cause.Cause]float64

func (s some) of(c cause.Cause) float64 { return s[c] }

// swings tells whether the whole line swings with the mains at times.
func (v *Volts) swings() bool { return v.Swing.Swinging >= 3 && !v.HalfWave }

// swing: hum that crosses the levels, at some times at least; or what a line picks up that nobody drives.
func (j *judge) swing(v *Volts) {
	if !v.swings() || v.OnlyMains {
		return
	}
	s := &v.Swing
	w := swinging{j: j, v: v, rectified: s.Twice > 2*s.Volts, bits: strong}
	size := math.Max(s.Volts, s.Twice)
	says := fmt.Sprintf("for %.0f %% of the time the whole line swings with the mains, by %s V peak about %s V", w.share(), short(size), short(s.Mean))
	if span := v.span(); span > 0 {
		w.bits *= math.Min(1, size/span/0.3)
		w.driven = !v.Relative && size > pickup && size > span // no load current drops so much along N: L itself stands there
		j.live = w.driven
	}
	w.adrift = !v.Loop || !(math.Abs(s.Mean-v.Mid) < v.nearest()/2)
	if lost, of := j.seen.total(); !v.Loop {
		w.adrift = false
		if of > fewFrames && 20*lost < of {
			w.bits = math.Min(w.bits, 1)
			says += "; next to nothing was lost to it, so it may be what both conductors have in common"
		}
	}
	j.say("swings", says+w.meaning(), w.share(), "% of the time", s.Times.At, w.of)
}

// swinging is what a line that swings with the mains says.
type swinging struct {
	j         *judge
	v         *Volts
	bits      float64
	rectified bool // twice in a period
	driven    bool // L itself stands there
	adrift    bool // about something else than mark
}

func (w *swinging) share() float64 {
	return 100 * float64(w.v.Swing.Swinging) / float64(w.v.Swing.Windows)
}

// meaning words it.
func (w *swinging) meaning() string {
	switch {
	case w.rectified && !w.adrift:
		return ", twice in a period: a supply without smoothing"
	case w.driven:
		return ": so much is L itself: N is open or the conductors are in the wrong order, every terminal may be live"
	case w.adrift:
		return ", which is not mark: what a line picks up that nobody drives"
	}
	return ""
}

// of are the bits that it gives a candidate.
func (w *swinging) of(k Key) float64 {
	switch {
	case w.rectified && !w.adrift:
		switch k.Cause {
		case cause.LoopSupply:
			return w.j.fed(k, w.v, w.bits)
		case cause.MainsHum, cause.OtherCause:
			return behind(w.bits, hardly)
		}
	case w.driven:
		switch k.Cause {
		case cause.OpenConductor, cause.ReversedConductors, cause.ShortedConductors:
			return w.bits
		case cause.MainsHum, cause.OtherCause, cause.Leakage:
			return behind(w.bits, hardly)
		}
	case w.adrift:
		switch k.Cause {
		case cause.OpenConductor, cause.StuckSender, cause.NoPower, cause.IntermittentContact:
			return w.bits
		case cause.MainsHum, cause.LoopSupply, cause.Leakage, cause.PoorJoint:
			return behind(w.bits, rarely)
		case cause.OtherCause:
			return behind(w.bits, hardly)
		}
	default:
		switch k.Cause {
		case cause.MainsHum:
			return w.bits
		case cause.Leakage:
			return behind(w.bits, rarely)
		case cause.LoopSupply:
			return w.j.fed(k, w.v, behind(w.bits, hardly))
		case cause.OtherCause:
			return behind(w.bits, hardly)
		}
	}
	return 0
}
