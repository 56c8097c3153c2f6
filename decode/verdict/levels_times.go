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

// swing: hum that crosses the levels, at some times at least.
func (j *judge) swing(v *Volts) {
	if !v.swings() || v.OnlyMains {
		return
	}
	s := &v.Swing
	share := 100 * float64(s.Swinging) / float64(s.Windows)
	size := math.Max(s.Volts, s.Twice)
	says := fmt.Sprintf("for %.0f %% of the time the whole line swings with the mains, by %s V peak about %s V", share, short(size), v.figure(s.Mean))
	rectified := s.Twice > 2*s.Volts
	about := math.Abs(s.Mean-v.Mid) < math.Abs(v.nearest())/2
	switch {
	case rectified:
		says += ", twice in a period: a supply without smoothing"
	case v.Held.N > 0 && !about:
		says += ", which is not mark: what a line that nobody drives picks up"
	}
	b := math.Min(1, size/v.span()/0.3) * strong
	driven := !v.Relative && size > pickup && size > v.span() // no load current drops so much along N: L itself stands there
	if driven {
		says += "; so much is L itself: N is open or the conductors are in the wrong order, every terminal may be live"
	}
	j.say("swings", says, share, "% of the time", s.Times.At, func(k Key) float64 {
		switch k.Cause {
		case cause.LoopSupply:
			if rectified {
				return j.fed(k, v, b)
			}
			return j.fed(k, v, behind(b, hardly))
		case cause.MainsHum:
			if rectified || driven {
				return behind(b, hardly)
			}
			return b
		case cause.OpenConductor: // an open N lifts the far unit's own to L
			switch {
			case rectified:
			case driven:
				return b
			case !about:
				return b - hints
			}
		case cause.Leakage:
			if !rectified {
				return behind(b, rarely)
			}
		case cause.ReversedConductors, cause.ShortedConductors:
			if driven && !rectified {
				return b
			}
		case cause.OtherCause:
			return behind(b, hardly)
		}
		return 0
	})
}
