package check

import (
	"cmp"
	"slices"

	"linewitness/decode/cause"
	"linewitness/decode/circuit"
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
	Gain            float64  // expected information about what to do, in bits
}

const (
	leastGain  = 0.01  // bits; a check that is worth less is not offered
	leastShare = 0.01  // of probability; a candidate under it is not named in Separates
	neglected  = 0.002 // of probability; candidates under it weigh nothing
	liveWork   = 4     // by how much more a minute live work must gain to come before other work
)

// Unrecorded stands for the tap where nothing was recorded.
const Unrecorded = "none"

// For ranks the checks that are worth something for these candidates after a recording at that tap ("" and "unknown":
// any), where nothing else is known.
func For(candidates []Candidate, tap string) []Ranked {
	return NewCase(circuit.Nothing(), nil).Next(candidates, tap)
}

// Next ranks the checks that are worth something and were not made yet: by expected gain a minute about what to do, live work only where
// it gains clearly more, then by id. What is unlike all known causes has no outcome that could be foretold: a check says nothing about
// it, and its share of probability lessens every gain.
func (c *Case) Next(candidates []Candidate, tap string) []Ranked {
	of := newUnsettled(candidates)
	if of.share <= 0 {
		return nil
	}
	var ranked []Ranked
	for _, k := range checks() {
		if c.made(k.ID) || tap != "" && tap != "unknown" && k.Taps != nil && !slices.Contains(k.Taps, tap) {
			continue
		}
		if r, ok := c.rank(&k, of); ok {
			ranked = append(ranked, r)
		}
	}
	slices.SortFunc(ranked, func(a, b Ranked) int {
		return cmp.Or(cmp.Compare(b.worth(), a.worth()), cmp.Compare(a.ID, b.ID))
	})
	return ranked
}

// worth is what ranks a check: bits a minute, of live work a share.
func (r *Ranked) worth() float64 {
	w := r.Gain / r.Minutes
	if r.Live {
		w /= liveWork
	}
	return w
}

// made tells whether a check was answered, or cannot be made.
func (c *Case) made(id string) bool {
	return slices.ContainsFunc(c.Readings, func(r Reading) bool { return r.Check == id })
}

// unsettled is what is not decided yet.
type unsettled struct {
	byProbability []Candidate // the known ones, most probable first
	prior         []float64   // of what to do
	action        []int       // by candidate: its place in prior
	share         float64     // of the known candidates in all
}

func newUnsettled(candidates []Candidate) *unsettled {
	o := &unsettled{}
	all := 0.0
	places := map[Action]int{}
	o.byProbability = slices.Clone(candidates)
	slices.SortStableFunc(o.byProbability, func(a, b Candidate) int { return cmp.Compare(b.Probability, a.Probability) })
	for _, k := range candidates {
		all += max(0, k.Probability)
	}
	o.byProbability = slices.DeleteFunc(o.byProbability, func(k Candidate) bool { return !known(k.Cause) || !(k.Probability > neglected*all) })
	for _, k := range o.byProbability {
		a := ActionFor(k.Cause, k.Side)
		at, ok := places[a]
		if !ok {
			at = len(o.prior)
			places[a] = at
			o.prior = append(o.prior, 0)
		}
		o.prior[at] += k.Probability
		o.action = append(o.action, at)
		o.share += k.Probability
	}
	if all > 0 {
		o.share /= all
	}
	return o
}

// rank reckons what a check is worth; ok is false where that is next to nothing.
func (c *Case) rank(k *Check, o *unsettled) (r Ranked, ok bool) {
	var outcomes [][]float64 // by what to do
	rows := make([][]float64, len(o.byProbability))
	for i, of := range o.byProbability {
		rows[i] = k.foretells(of.Cause, of.Side, c)
	}
	outcomes = make([][]float64, len(o.prior))
	for i, row := range rows {
		a := o.action[i]
		if outcomes[a] == nil {
			outcomes[a] = make([]float64, len(row))
		}
		for n, p := range row {
			outcomes[a][n] += o.byProbability[i].Probability / o.prior[a] * p
		}
	}
	r = Ranked{ID: k.ID, Do: k.Do, Caution: k.Caution, Live: k.Live, Minutes: k.Minutes, Gain: o.share * Gain(o.prior, outcomes)}
	if r.Gain < leastGain {
		return r, false
	}
	all := 0.0
	for _, p := range o.prior {
		all += p
	}
	mean := make([]float64, len(rows[0]))
	for i, row := range rows {
		for n, p := range row {
			mean[n] += o.byProbability[i].Probability / all * p
		}
	}
	for i, row := range rows {
		if of := o.byProbability[i]; of.Probability >= leastShare && apart(row, mean) >= differs {
			r.Separates = append(r.Separates, of.String())
		}
	}
	return r, true
}

// Again is a check whose reading is in doubt, to be made once more.
func (c *Case) Again(id string) Ranked {
	for i := range c.Readings {
		if k := c.Readings[i].check; k.ID == id {
			return Ranked{ID: id, Do: "Repeat this one, it does not fit what else is known: " + k.Do, Caution: k.Caution, Live: k.Live, Minutes: k.Minutes}
		}
	}
	return Ranked{ID: id}
}
