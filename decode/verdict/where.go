package verdict

import (
	"math"
	"strings"

	"linewitness/capture"
	"linewitness/decode/cause"
	"linewitness/decode/check"
)

// locate names the conductor, the variant and the place of a verdict where the recording or a reading tells; what it does not tell stays
// empty.
func (j *judge) locate(v *Verdict) {
	if v.Side == capture.Indoor || v.Side == capture.Outdoor {
		v.Place = v.Side.String()
	}
	switch v.Cause {
	case cause.ReversedConductors:
		if j.in.Tap == capture.Pair {
			v.Variant = "swapped-AB"
		}
	case cause.OpenConductor:
		v.Conductor = j.opened()
	case cause.ShortedConductors:
		v.Conductor = j.shorted()
	case cause.MainsHum, cause.Leakage:
		v.Conductor = j.humming(v.Cause)
	}
}

// opened is the conductor that is open: by ohms from end to end; N where L itself comes through the other unit's load.
func (j *judge) opened() string {
	switch {
	case j.read("S-S@line", func(v *check.Value) bool { return math.IsInf(v.Low, 1) }):
		return "S"
	case j.live:
		return "N"
	}
	return ""
}

// shorted are the conductors that touch: mains on S comes from L; ohms tell S to N, and so does a loop that stands at 0 V without any.
func (j *judge) shorted() string {
	v := j.in.Volts
	switch {
	case j.in.Tap == capture.Pair:
		return ""
	case j.live || v.mainsOnS() > pickup:
		return "L-S"
	case j.read("S-N@line", func(v *check.Value) bool { return v.Low < 100 }):
		return "S-N"
	case v != nil && v.Loop && !v.Relative && v.HeldLow > v.HeldHigh && v.mainsOnS() < 1:
		return "S-N"
	}
	return ""
}

// humming is where hum or a leak comes in, by the open states in which it stands (see humPlace).
func (j *judge) humming(c cause.Cause) string {
	v := j.in.Volts
	if v == nil || !v.Loop || math.IsNaN(v.Hz) {
		return ""
	}
	in := humPlace(v)
	switch {
	case strings.Contains(in, "series with N") && c == cause.MainsHum:
		return "N"
	case strings.Contains(in, "both open states") && c == cause.Leakage:
		return "L-S"
	case c == cause.Leakage && v.HighMove < 0 && v.PlaceMove > 0:
		return "S-N"
	}
	return ""
}

// read tells whether a check was read by hand so.
func (j *judge) read(id string, so func(*check.Value) bool) bool {
	for i := range j.in.Readings {
		if r := &j.in.Readings[i]; r.Check == id && !r.Value.Unknown() && so(&r.Value) {
			return true
		}
	}
	return false
}

// which names conductor and variant in words.
func (v *Verdict) which() string {
	switch {
	case v.Conductor != "":
		return ", " + strings.Replace(v.Conductor, "-", " to ", 1)
	case v.Variant == "swapped-AB":
		return ", A and B exchanged"
	}
	return ""
}
