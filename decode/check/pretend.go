package check

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"linewitness/decode/cause"
	"linewitness/decode/circuit"
)

// Pretend is what somebody would find with a check if a known cause were true: a word by the table, a figure of one of the lines that the
// case leaves likely; in the share of cases in which people misread, any. ok is false where the outcome is a recording.
func (c *Case) Pretend(id string, k cause.Cause, side string, r *rand.Rand) (found Reading, ok bool) {
	of, ok := Find(id)
	if !ok || of.Values == "" || !known(k) {
		return Reading{}, false
	}
	text := of.anyWord(of.likelihoodOf(k, side), r)
	if of.quantity != nil {
		text = of.figure(c.Belief(k, side).lines, r)
	}
	found, err := of.Read(text)
	return found, err == nil
}

// likelihoodOf is the table's row, nil of a meter.
func (c *Check) likelihoodOf(k cause.Cause, side string) []float64 {
	if c.quantity != nil {
		return nil
	}
	return c.likelihood(k, side)
}

// anyWord draws an outcome and says it in a word.
func (c *Check) anyWord(p []float64, r *rand.Rand) string {
	u := r.Float64()
	for outcome, q := range p {
		if u -= q; u < 0 {
			return c.wordFor(outcome)
		}
	}
	return unknown
}

// wordFor is the most special word for an outcome.
func (c *Check) wordFor(outcome int) string {
	best, size := unknown, math.MaxInt
	for _, word := range []string{"yes", "no", "loose", "wet", "order"} {
		if of := c.words(word); slices.Contains(of, outcome) && len(of) < size {
			best, size = word, len(of)
		}
	}
	return best
}

// figure draws a line and says what the meter shows there.
func (c *Check) figure(lines []circuit.Weighted, r *rand.Rand) string {
	u := r.Float64()
	l := &lines[len(lines)-1].Line
	for i := range lines {
		if u -= lines[i].Weight; u < 0 {
			l = &lines[i].Line
			break
		}
	}
	misread := r.Float64() < flat
	switch c.metered {
	case Resistance:
		x := l.Ohms(c.quantity.From, c.quantity.To)
		if misread {
			x = math.Pow(10, 7*r.Float64())
		}
		if x > mostOhms/4 {
			return "ohm:over"
		}
		return fmt.Sprintf("ohm:%.2f", x)
	case AC:
		x := l.Show(*c.quantity).AC.Mid()
		if misread {
			x = 240 * r.Float64()
		}
		return fmt.Sprintf("ac:%.1fV", x)
	}
	dc := l.Show(*c.quantity).DC
	if misread {
		dc.Low = 60 * r.Float64()
		dc.High = dc.Low
	}
	if dc.Swings() {
		return fmt.Sprintf("dc:swings:%.1f..%.1fV", dc.Low, dc.High)
	}
	return fmt.Sprintf("dc:steady:%.1fV", dc.Mid())
}
