package verdict

import (
	"math"

	"linewitness/capture"
	"linewitness/decode/cause"
	"linewitness/decode/validate"
)

// seen is what was counted, in the order controller, responder (one entry where one talks).
type seen struct {
	stopped bool // the talk ended
	sides   []capture.Side
	frames  []lost
	replies lost // good: answered; dirty: missing
	late    lost // good: in time; dirty: late
	levels  bool // levels were judged
	facts   *validate.Facts
}

// logLosses is ln of the likelihood of everything counted under a candidate. The cause acts somewhere among the places
// that it can, each non-empty set of them being as likely as the next.
func (s *seen) logLosses(k Key) float64 {
	e := effectOf(k.Cause)
	if s.levels && inLevels(k.Cause) {
		e.hidden = true // the levels show it before anything is lost
	}
	if shownByTalk(s.facts, k) {
		e.hidden = true
	}
	if s.stopped && ends(k.Cause) {
		e.hidden = true // it came when all before had been heard, and nothing was sent since
	}
	if len(s.sides) == 1 && (e.missing || e.at == own && e.frames == 0) {
		e.hidden = true // it may keep the other unit from being heard, and this tap would not know
	}
	parts := s.parts(k, e)
	base := 0.0
	for _, l := range s.frames {
		base += l.logSound()
	}
	base += s.replies.logSound() + s.late.logSound()
	var terms []float64
	if e.hidden || len(parts) == 0 {
		terms = append(terms, base)
	}
	for set := 1; set < 1<<len(parts); set++ {
		v := base
		for i, p := range parts {
			if set&(1<<i) != 0 {
				v += p
			}
		}
		terms = append(terms, v)
	}
	return logMean(terms)
}

// ends tells whether a cause can end all talk at once.
func ends(c cause.Cause) bool {
	switch c {
	case cause.OpenConductor, cause.ShortedConductors, cause.StuckSender, cause.NoPower, cause.LoopSupply, cause.IntermittentContact, cause.SilentSender,
		cause.Restarts:
		return true
	}
	return false
}

// parts are the gains in ln likelihood from letting the cause act at each of its places.
func (s *seen) parts(k Key, e effect) (parts []float64) {
	gain := func(l lost, k kinds) float64 { return l.logHit(k, e.lasting) - l.logSound() }
	if e.frames != 0 {
		sum := 0.0
		for i, l := range s.frames {
			switch {
			case e.at == either:
				parts = append(parts, gain(l, e.frames))
			case e.at == both:
				sum += gain(l, e.frames)
			case s.sides[i] == k.Side:
				parts = append(parts, gain(l, e.frames))
			}
		}
		if e.at == both {
			parts = append(parts, sum)
		}
	}
	responder := s.sides[len(s.sides)-1]
	if e.missing && len(s.sides) == 2 && (e.at != own || k.Side == responder || e.frames != 0) {
		parts = append(parts, gain(s.replies, dirty))
	}
	if e.late && len(s.sides) == 2 && (e.at != own || k.Side == responder) {
		parts = append(parts, gain(s.late, dirty))
	}
	return parts
}

// bits turns a difference of natural logarithms into bits.
func bits(ln float64) float64 { return ln / math.Ln2 }
