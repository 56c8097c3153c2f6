package verdict

import (
	"fmt"
	"math"

	"linewitness/capture"
	"linewitness/decode/cause"
	"linewitness/decode/check"
	"linewitness/decode/circuit"
)

// newCase is what is known of the line besides its talk.
func newCase(in *Input) *check.Case { return check.NewCase(seenOf(in), in.Readings) }

// seenOf is what the recording showed of the volts from S to N; nothing where they mean nothing.
func seenOf(in *Input) circuit.Seen {
	s, v := circuit.Nothing(), in.Volts
	if v == nil || v.Relative || v.Dropped != "" || v.OnlyMains || v.HalfWave || v.Amperes {
		return s
	}
	switch in.Tap {
	case capture.IndoorTerminal:
		s.At = circuit.Indoor
	case capture.OutdoorTerminal:
		s.At = circuit.Outdoor
	default:
		return s
	}
	if v.Levels < 2 {
		s.Constant = v.Constant
		return s
	}
	s.Mark, s.Low, s.Top = v.Mid, v.Low, v.High
	return s
}

// readings weighs what somebody read by hand: each reading given the recording and those before it.
func (j *judge) readings() {
	j.demand()
	if len(j.in.Readings) == 0 {
		return
	}
	sound := j.about.Belief(cause.None, "")
	for i := range j.in.Readings {
		r := &j.in.Readings[i]
		if r.Check == check.History || r.Check == check.Demand {
			continue
		}
		e := Evidence{ID: "reading-" + r.Check, Says: "read by hand: " + r.String(), Value: math.NaN(), Low: math.NaN(), High: math.NaN(), Bits: map[Key]float64{}}
		e.figure(&r.Value)
		for _, k := range j.keys[1:] {
			if b := j.about.Belief(k.Cause, k.Side.String()).Bits[i] - sound.Bits[i]; b != 0 {
				e.Bits[k] = b
			}
		}
		e.clip()
		j.evidence = append(j.evidence, e)
	}
}

// figure puts what a meter showed into an evidence.
func (e *Evidence) figure(v *check.Value) {
	switch v.Kind {
	case check.DC, check.AC:
		e.Unit = "V"
	case check.Resistance:
		e.Unit = "ohm"
	default:
		return
	}
	e.Value = (v.Low + v.High) / 2
	if math.IsInf(e.Value, 0) {
		e.Value = math.NaN() // over range
	}
	if v.Swings {
		e.Low, e.High = v.Low, v.High
	}
}

// demanded is what a silent line is worth where somebody says that it should have talked.
const demanded = 6.0

// demand: silence is a fault where a call for cooling or heating stood.
func (j *judge) demand() {
	if j.called() && !j.in.Bare && !j.heard() {
		j.say("reading-"+check.Demand, "read by hand: a call for cooling or heating stood while nobody talked", math.NaN(), "", nil,
			func(Key) float64 { return demanded })
	}
}

// called tells whether a call stood during the recording.
func (j *judge) called() bool {
	for i := range j.in.Readings {
		if r := &j.in.Readings[i]; r.Check == check.Demand && r.Value.Word == "yes" {
			return true
		}
	}
	return false
}

// told tells whether any reading speaks of more than what the recording is worth.
func (j *judge) told() bool {
	for i := range j.in.Readings {
		if r := &j.in.Readings[i]; r.Check != check.History && r.Check != check.Demand && !r.Value.Unknown() {
			return true
		}
	}
	return false
}

// doubtful is how likely a reading must be misread for it to be repeated before anything is replaced.
const doubtful = 0.4

// doubt finds the reading that fits what else is known least; -1: none is in doubt.
func (j *judge) doubt(all []Candidate) int {
	worst, most := -1, doubtful
	for i := range j.in.Readings {
		p := 0.0
		for _, k := range all {
			p += k.Probability * j.about.Belief(k.Cause, k.Side.String()).Misread[i]
		}
		if p > most {
			worst, most = i, p
		}
	}
	return worst
}

// repeat says which reading is in doubt.
func (j *judge) repeat(all []Candidate) string {
	i := j.doubt(all)
	if i < 0 {
		return ""
	}
	r := &j.in.Readings[i]
	j.say("repeat-"+r.Check, fmt.Sprintf("%s does not fit what else is known: repeat this one, at the right terminals and range", r), math.NaN(), "", nil, nil)
	return r.Check
}
