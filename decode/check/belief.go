package check

import (
	"math"

	"linewitness/decode/cause"
	"linewitness/decode/circuit"
)

// Case is what is known of a line besides its talk: the levels that a recording showed, and what was read by hand, in order.
type Case struct {
	Seen     circuit.Seen
	Readings []Reading

	of    map[subject]*Belief
	blank bool // nothing is known: what is foretold is the same for all such cases
}

// NewCase is a case with nothing believed yet.
func NewCase(seen circuit.Seen, readings []Reading) *Case {
	return &Case{Seen: seen, Readings: readings, of: map[subject]*Belief{}, blank: seen.At == circuit.Between && len(readings) == 0}
}

type subject struct {
	cause cause.Cause
	at    circuit.Place
}

// Belief is what a case says if a cause is true.
type Belief struct {
	Bits    []float64 // by reading: log2 of its likelihood over that of a misread one, given those before it
	Misread []float64 // by reading: the probability that it is misread, given all

	lines []circuit.Weighted // lines of this cause as they are likely after all readings
}

// placeOf is where a candidate's side is; sides that are not known to be indoors or outdoors are either.
func placeOf(c cause.Cause, side string) circuit.Place {
	switch {
	case side == "indoor" && c.PerUnit():
		return circuit.Indoor
	case side == "outdoor" && c.PerUnit():
		return circuit.Outdoor
	}
	return circuit.Between
}

// Belief is what the case says if a cause at a side is true.
func (c *Case) Belief(k cause.Cause, side string) *Belief {
	key := subject{k, placeOf(k, side)}
	if b, ok := c.of[key]; ok {
		return b
	}
	b := c.believe(k, side, key.at)
	c.of[key] = b
	return b
}

// believe goes through the readings. The lines of a cause are as likely as the recording and the readings by meter make them, so that a
// quantity that is known already tells nothing more.
func (c *Case) believe(k cause.Cause, side string, at circuit.Place) *Belief {
	b := &Belief{Bits: make([]float64, len(c.Readings)), Misread: make([]float64, len(c.Readings))}
	if !known(k) {
		return b
	}
	b.lines = circuit.Weigh(circuit.Draws(k, at), c.Seen)
	shares := make([][]float64, len(c.Readings)) // of the misread, by reading and line
	for i := range c.Readings {
		r := &c.Readings[i]
		if c.repeated(i) {
			continue
		}
		q := r.check.quantity
		if q == nil || r.Value.Unknown() {
			b.Bits[i], b.Misread[i] = r.answered(k, side)
			continue
		}
		shares[i] = make([]float64, len(b.lines))
		sum := 0.0
		for n := range b.lines {
			l := &b.lines[n]
			read, misread := likely(r.Value, q, &l.Line)
			gain := (1-flat)*read/misread + flat
			shares[i][n] = flat / gain
			l.Weight *= gain
			sum += l.Weight
		}
		b.Bits[i] = math.Log2(sum)
		for n := range b.lines {
			b.lines[n].Weight /= sum
		}
	}
	for i, s := range shares {
		for n := range s {
			b.Misread[i] += b.lines[n].Weight * s[n]
		}
	}
	b.lines = circuit.Prune(b.lines)
	return b
}

// repeated tells whether a reading says once more what an earlier one of the same check said: whoever is at the wrong terminal is so again.
func (c *Case) repeated(i int) bool {
	for n := range c.Readings[:i] {
		if c.Readings[n].Check == c.Readings[i].Check && c.Readings[n].Value.agrees(c.Readings[i].Value) {
			return true
		}
	}
	return false
}

// agrees tells whether two values of one check are one within what a meter repeats.
func (v Value) agrees(w Value) bool {
	if v.Kind != w.Kind || v.Word != w.Word || v.Swings != w.Swings || v.Meter != w.Meter {
		return false
	}
	near := func(a, b float64) bool { return a == b || math.Abs(scaled(a)-scaled(b)) <= 3*width(a, figurePart) }
	return near(v.Low, w.Low) && near(v.High, w.High)
}

// known tells whether anything follows from a cause.
func known(k cause.Cause) bool { return k != cause.OtherCause && k != cause.Unknown }
