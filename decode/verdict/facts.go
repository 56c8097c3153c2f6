package verdict

import (
	"fmt"
	"math"

	"linewitness/capture"
	"linewitness/decode/cause"
	"linewitness/decode/validate"
)

// What a fact with a test of its own is worth at most, in bits, and the p from which on it counts. A p is of one fact among many, so one
// in twenty means nothing.
const (
	tested     = 8.0
	rareChance = 1e-3
)

// tests weighs the facts that carry a test of their own.
func (j *judge) tests() {
	j.bounce()
	j.reading()
	j.locked()
	j.loads()
}

// fact is one of the list by its id, the one with the least p where both senders have it; nil: it was not measured.
func (j *judge) fact(id string) (f *validate.Fact) {
	for i := range j.in.List {
		x := &j.in.List[i]
		if x.ID == id && x.Measured() && (f == nil || x.P < f.P) {
			f = x
		}
	}
	return f
}

// rareness is what a p is worth: nothing at rareChance, tested at a millionth of that.
func rareness(p float64) float64 {
	if !(p < rareChance) {
		return 0
	}
	return math.Min(tested, 2+math.Log2(rareChance/math.Max(p, 1e-30))*0.3)
}

// bounce: short pulses at both ends of a loss are a contact's; many losses without any are none of it.
func (j *judge) bounce() {
	f := j.fact("errors.bounce-both")
	if f == nil || f.N < 3 {
		return
	}
	k := math.Round(f.Value * float64(f.N))
	b := 0.0
	switch {
	case k >= 2 && f.P < rareChance:
		b = math.Min(tested, 3*k)
	case f.N >= 10 && f.Value < 0.05:
		b = -rarely
	default:
		return
	}
	j.say("bounce", fmt.Sprintf("%.0f of %d losses begin and end with a bounce", k, f.N), 100*f.Value, "%", f.Times.At, func(k Key) float64 {
		switch k.Cause {
		case cause.IntermittentContact:
			return b
		case cause.PoorJoint:
			return math.Max(0, b/2)
		}
		return 0
	})
}

// reading: what was sent would be read better at another speed, in another format or the other way round. What was learned from the recording
// itself cannot be told so.
func (j *judge) reading() {
	if j.in.Learned || j.in.Facts == nil {
		return
	}
	all, best := 0, ""
	for _, r := range []struct{ id, what string }{{"structure.speed-gain", "speed"}, {"structure.format-gain", "format"}, {"structure.polarity-gain", "polarity"}} {
		f := j.fact(r.id)
		if f == nil || f.N < 8 {
			continue
		}
		all++
		if b := rareness(f.P); b > 0 && f.Value > 30 {
			best = r.what
			j.say("other-"+r.what, fmt.Sprintf("another %s reads the line better, by %.0f bits in %d bursts", r.what, f.Value, f.N), f.Value, "bits", nil,
				func(k Key) float64 { return otherReading(r.what, k, b) })
		}
	}
	if f := j.fact("structure.link-gain"); f != nil {
		all++
		if b := rareness(f.P); b > 0 {
			best = "link"
			j.say("other-link", fmt.Sprintf("a link learned from the recording proves itself by %.0f bits more than the one described", f.Value), f.Value, "bits", nil,
				func(k Key) float64 { return otherReading("link", k, b) })
		}
	}
	if all > 0 && best == "" {
		j.say("own-reading", "no other speed, format or polarity reads the line better", float64(all), "count", nil, only(-rarely, cause.SpeedMismatch, cause.WrongLink))
	}
}

// otherReading is what a better reading of one kind says of a candidate.
func otherReading(what string, k Key, b float64) float64 {
	switch {
	case what == "speed" && k.Cause == cause.SpeedMismatch, what == "format" && k.Cause == cause.WrongLink, what == "polarity" && k.Cause == cause.ReversedConductors,
		what == "link" && k.Cause == cause.WrongLink:
		return b
	case k.Cause == cause.WrongLink:
		return behind(b, 1)
	case what == "speed" && k.Cause == cause.ClockOff:
		return behind(b, rarely)
	case (what == "format" || what == "link") && k.Cause == cause.SpeedMismatch:
		return behind(b, rarely)
	}
	return 0
}

// fewLocked are too few losses to tell that they keep to a phase: dips of a supply may begin at one.
const fewLocked = 12

// locked: losses or edges that keep to a phase of the mains.
func (j *judge) locked() {
	b, at := 0.0, []capture.Tick(nil)
	what := ""
	for _, id := range []string{"mains.losses-phase", "mains.losses-scan", "time.mains-locked"} {
		if f := j.fact(id); f != nil && f.N >= fewLocked && rareness(f.P) > b {
			b, at, what = rareness(f.P), f.Times.At, id
		}
	}
	if b == 0 {
		return
	}
	says := "what is lost keeps to a phase of the mains"
	if what == "time.mains-locked" {
		says = "edges move with the mains' phase"
	}
	j.say("mains-phase", says, math.NaN(), "", at, func(k Key) float64 {
		switch k.Cause {
		case cause.MainsHum:
			return b
		case cause.LoopSupply:
			if j.in.Volts != nil {
				return j.fed(k, j.in.Volts, behind(b, 1))
			}
			return behind(b, 1)
		case cause.Leakage:
			return behind(b, 2)
		case cause.ReversedConductors, cause.ShortedConductors, cause.OpenConductor, cause.OtherCause:
			return behind(b, rarely)
		}
		return 0
	})
}

// loads: losses beside steps of the line that a load makes.
func (j *judge) loads() {
	f := j.fact("joined.losses-at-load-steps")
	if f == nil || !(f.P < rareChance) {
		return
	}
	j.say("load-steps", "losses stand beside steps of the line that a load makes", f.Value, "", f.Times.At, only(rarely, cause.VoltageSag, cause.MainsHum))
}
