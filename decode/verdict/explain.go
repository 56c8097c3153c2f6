package verdict

import (
	"fmt"
	"math"

	"linewitness/capture"
	"linewitness/decode/cause"
	"linewitness/decode/statistic"
)

// part is what was counted with the losses that a cause can make, or with the others alone.
func (s *seen) part(k Key, makes bool) seen {
	e, p := effectOf(k.Cause), *s
	p.frames = append([]lost(nil), s.frames...)
	for i := range p.frames {
		acts := e.at != own || s.sides[i] == k.Side
		if (acts && e.frames&clean != 0) != makes {
			p.frames[i].clean = 0
		}
		if (acts && e.frames&dirty != 0) != makes {
			p.frames[i].dirty = 0
		}
	}
	if e.missing != makes {
		p.replies.dirty = 0
	}
	if e.late != makes {
		p.late.dirty = 0
	}
	return p
}

// explains is the share of lost frames that the cause can make and that a sound line would not have lost anyhow (the attributable share,
// 1 less the sound line's rate over that found), in per cent, with its 95 % interval (Clopper and Pearson, Biometrika 26, 1934); NaN where
// none was lost.
func (j *judge) explains(k Key) (share, low, high float64) {
	lost, of := j.seen.total()
	if lost == 0 {
		return math.NaN(), math.NaN(), math.NaN()
	}
	left := j.seen.part(k, false)
	rest, _ := left.total()
	anyhow := math.Min(1, of*soundA/(soundA+soundB)/lost)
	can := (lost - rest) * (1 - anyhow)
	i := statistic.ClopperPearson(int(math.Round(can)), int(math.Round(lost)), 0.95)
	return 100 * can / lost, 100 * i.Lower, 100 * i.Upper
}

// also is a second fault: one that explains losses which the verdict does not, or not so well. Its probability is that of both together
// against the verdict's alone, times the verdict's.
func (j *judge) also(v *Verdict) []Candidate {
	if v.Undetermined || v.Cause == cause.None || j.in.Facts == nil {
		return nil
	}
	best := Candidate{Probability: math.Inf(-1)}
	_, prior := j.posterior(1)
	for i, k := range j.keys {
		if k.Cause == cause.None || k.Cause == cause.OtherCause || k.Cause == v.Cause {
			continue
		}
		if b := prior[i] + j.together(v.Key, k) + j.besides(k); b > best.Probability {
			best = Candidate{Key: k, Probability: b, PriorBits: prior[i]}
		}
	}
	best.Probability = v.Probability / (1 + math.Exp2(-best.Probability))
	if !(best.Probability >= sure) {
		return nil
	}
	return []Candidate{best}
}

// together is by how many bits the losses are likelier where a second fault acts beside the first: what one can make is its doing, the rest
// the other's.
func (j *judge) together(first, second Key) float64 {
	alone := j.seen.gain(first)
	share := func(a, b Key) float64 {
		makes, rest := j.seen.part(a, true), j.seen.part(a, false)
		if lost, _ := rest.total(); lost == 0 {
			return math.Inf(-1) // nothing is left to explain
		}
		return makes.gain(a) + rest.gain(b)
	}
	return bits(math.Max(share(first, second), share(second, first))-alone) * j.lossWeight
}

// gain is ln of the likelihood ratio of the losses under a cause against a sound line.
func (s *seen) gain(k Key) float64 {
	return s.logLosses(k) - s.logLosses(Key{cause.None, capture.None})
}

// besides is what all evidence but the losses says of a candidate.
func (j *judge) besides(k Key) (sum float64) {
	for i := range j.evidence {
		if e := &j.evidence[i]; e.ID != "losses" {
			sum += e.Bits[k]
		}
	}
	return sum
}

// fewCleared is how many good frames clear a unit at least.
const fewCleared = 50

// cleared is what the good traffic proves: senders whose frames were good and receivers that acted on what they heard, where no board
// fault of theirs is likely; a loop through which talk passed.
func (j *judge) cleared(all []Candidate) (c []Cleared) {
	if j.in.Facts == nil {
		return nil
	}
	sends, hears, wired := map[capture.Side]float64{}, map[capture.Side]float64{}, 0.0
	for _, k := range all {
		switch {
		case k.Cause == cause.DeafReceiver:
			hears[k.Side] += k.Probability
		case k.Cause.Family() == cause.Board:
			sends[k.Side] += k.Probability
		case k.Cause.Family() == cause.Wiring:
			wired += k.Probability
		}
	}
	f := j.in.Facts
	for i := range f.Senders {
		s := &f.Senders[i]
		bad := s.Clean.N + s.Dirty.N + s.Unframed.N
		if s.Good >= fewCleared && sends[s.Side] <= 0.05 && bad*50 <= s.Good {
			c = append(c, Cleared{What: SideName(s.Side) + ": its sending side",
				Because: fmt.Sprintf("%d of %d frames were good %s", s.Good, s.Frames, atTap(j.in.Tap))})
		}
	}
	if d := &f.Dialogue.Ignored; d.Measured && d.Of >= fewCleared && d.N*50 <= d.Of && hears[f.Senders[0].Side] <= 0.05 {
		c = append(c, Cleared{What: SideName(f.Senders[0].Side) + ": its receiving side",
			Because: fmt.Sprintf("after %d of %d good replies it went on to the next poll", d.Of-d.N, d.Of)})
	}
	if f.TwoTalk && len(f.Senders) == 2 && f.Answered >= fewCleared && f.Senders[1].Missing.N*50 <= f.Solicited && hears[f.Senders[1].Side] <= 0.05 {
		c = append(c, Cleared{What: SideName(f.Senders[1].Side) + ": its receiving side",
			Because: fmt.Sprintf("it answered %d of %d good polls", f.Answered, f.Solicited)})
	}
	if lost, of := j.seen.total(); wired <= 0.02 && len(c) >= 3 && lost*100 <= of {
		c = append(c, Cleared{What: "the signal wiring between the units", Because: fmt.Sprintf("%.0f of %.0f frames and replies due came through it whole and in time", of-lost, of)})
	}
	return c
}

// atTap says where something was seen.
func atTap(t capture.Tap) string {
	switch t {
	case capture.IndoorTerminal:
		return "at the indoor terminals"
	case capture.OutdoorTerminal:
		return "at the outdoor terminals"
	}
	return "at this tap"
}
