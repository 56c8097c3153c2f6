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
	e.hidden = e.hidden || s.hides(k, e)
	parts := s.parts(k, e)
	base := s.logSound(false)
	var terms []float64
	if e.hidden || len(parts) == 0 {
		terms = append(terms, s.logSound(s.stopped && ends(k.Cause)))
	}
	for set := 1; set < 1<<len(parts); set++ {
		v, must := base, false
		for i, p := range parts {
			if set&(1<<i) != 0 {
				v, must = v+p.gain, must || p.must
			}
		}
		if must == hasMust(parts) {
			terms = append(terms, v)
		}
	}
	all := logMean(terms)
	if e.alike { // mostly on all frames at one rate
		all = logMix([]float64{alikeShare, 1 - alikeShare}, []float64{s.logAlike(e), all})
	}
	return all
}

// alikeShare is the share of cases in which what disturbs the line itself loses as many frames of one unit as of the other.
const alikeShare = 0.8

// logAlike is ln of the likelihood where the frames of both units are lost at one rate.
func (s *seen) logAlike(e effect) float64 {
	var l lost
	for _, f := range s.frames {
		l.good, l.clean, l.dirty = l.good+f.good, l.clean+f.clean, l.dirty+f.dirty
	}
	replies := s.replies.logSound()
	if len(s.sides) == 2 {
		replies = logMean([]float64{replies, s.replies.logHit(dirty, e)})
	}
	v := l.logHit(e.frames, e) + replies + s.late.logSound()
	if e.hidden {
		v = logMean([]float64{v, s.logSound(false)})
	}
	return v
}

// hides tells whether a cause may act on this recording without a loss that the tap can see.
func (s *seen) hides(k Key, e effect) bool {
	switch {
	case s.levels && inLevels(k.Cause): // the levels show it before anything is lost
	case s.facts.Pulses.N > 0 && s.facts.Glitches.N > 0 && disturbs(k.Cause): // so do its pulses
	case shownByTalk(s.facts, k):
	case s.stopped && ends(k.Cause): // it came when all before had been heard, and nothing was sent since
	case len(s.sides) == 1 && (e.missing || e.at == own && e.frames == 0): // it may keep the other unit from being heard, and this tap would not know
	default:
		return false
	}
	return true
}

// disturbs tells which causes make pulses without losing a frame by it.
func disturbs(c cause.Cause) bool {
	return c == cause.ImpulseNoise || c == cause.Crosstalk || c == cause.ProbeArtefact || c == cause.IntermittentContact
}

// lastFrames may be damaged when a unit goes down or the line ends.
const lastFrames = 3

// logSound is ln of the likelihood of everything counted while nothing acts; where all ended, but for the last frames.
func (s *seen) logSound(ended bool) float64 {
	sum := s.replies.logSound() + s.late.logSound()
	for _, l := range s.frames {
		if ended {
			l.dirty -= math.Min(l.dirty, math.Min(lastFrames, float64(l.course.Last)))
		}
		sum += l.logSound()
	}
	return sum
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

// part is a place at which a cause can act: its gain in ln likelihood, and whether it acts there whenever it acts.
type part struct {
	gain float64
	must bool
}

func hasMust(parts []part) bool {
	for _, p := range parts {
		if p.must {
			return true
		}
	}
	return false
}

// parts are the places at which the cause can act.
func (s *seen) parts(k Key, e effect) (parts []part) {
	gain := func(l lost, k kinds) float64 { return l.logHit(k, e) - l.logSound() }
	add := func(g float64) { parts = append(parts, part{gain: g}) }
	if e.frames != 0 {
		sum := 0.0
		for i, l := range s.frames {
			switch {
			case e.at == either:
				add(gain(l, e.frames))
			case e.at == both:
				sum += gain(l, e.frames)
			case s.sides[i] == k.Side:
				add(gain(l, e.frames))
			}
		}
		if e.at == both {
			add(sum)
		}
	}
	responder := s.sides[len(s.sides)-1]
	if e.missing && len(s.sides) == 2 && (e.at != own || k.Side == responder || e.frames != 0) {
		add(gain(s.replies, dirty))
	}
	if e.late && len(s.sides) == 2 && (e.at != own || k.Side == responder) {
		parts = append(parts, part{gain(s.late, dirty), true})
	}
	return parts
}

// bits turns a difference of natural logarithms into bits.
func bits(ln float64) float64 { return ln / math.Ln2 }
