package check

import (
	"cmp"
	"slices"

	"linewitness/decode/cause"
)

// Candidate is a cause at a side with its probability. Side is "indoor", "outdoor", "line", "none", or, where the tap
// shows two talkers but not which is where, "a", "b" or "unknown".
type Candidate struct {
	Cause       cause.Cause
	Side        string
	Probability float64
}

func (c Candidate) String() string { return c.Cause.String() + "/" + c.Side }

// Ranked is a check with what it is worth for a recording.
type Ranked struct {
	ID, Do, Caution string
	Live            bool
	Minutes         float64
	Separates       []string // the candidates it tells apart, most probable first, as cause/side
	Gain            float64  // expected information about the candidates, in bits
}

const (
	leastGain  = 0.01 // bits; a check that is worth less is not offered
	leastShare = 0.01 // of probability; a candidate under it is not named in Separates
)

// For ranks the checks that are worth something for these candidates after a recording at that tap ("" and "unknown":
// any). Those without live work come first; within each, by expected gain a minute, then by id. What is unlike all
// known causes has no outcome that could be foretold: a check says nothing about it, and its share of probability
// lessens every gain.
func For(candidates []Candidate, tap string) []Ranked {
	var known []Candidate
	var prior []float64
	all, share := 0.0, 0.0
	for _, c := range candidates {
		p := max(0, c.Probability)
		all += p
		if c.Cause != cause.OtherCause && c.Cause != cause.Unknown {
			known, prior = append(known, c), append(prior, p)
			share += p
		}
	}
	if share <= 0 {
		return nil
	}
	byProbability := slices.Clone(candidates)
	slices.SortStableFunc(byProbability, func(a, b Candidate) int { return cmp.Compare(b.Probability, a.Probability) })
	var ranked []Ranked
	for _, c := range checks() {
		if tap != "" && tap != "unknown" && c.Taps != nil && !slices.Contains(c.Taps, tap) {
			continue
		}
		outcomes := make([][]float64, len(known))
		for i, k := range known {
			outcomes[i] = c.likelihood(k.Cause, k.Side)
		}
		r := Ranked{ID: c.ID, Do: c.Do, Caution: c.Caution, Live: c.Live, Minutes: c.Minutes, Gain: share / all * Gain(prior, outcomes)}
		if r.Gain < leastGain {
			continue
		}
		for _, k := range byProbability {
			if k.Probability >= leastShare && c.tells(k.Cause) {
				r.Separates = append(r.Separates, k.String())
			}
		}
		ranked = append(ranked, r)
	}
	slices.SortFunc(ranked, func(a, b Ranked) int {
		if a.Live != b.Live {
			if a.Live {
				return 1
			}
			return -1
		}
		return cmp.Or(cmp.Compare(b.Gain/b.Minutes, a.Gain/a.Minutes), cmp.Compare(a.ID, b.ID))
	})
	return ranked
}
