package main

import (
	"math/rand/v2"
	"strings"

	"linewitness/decode/cause"
	"linewitness/decode/check"
	"linewitness/decode/verdict"
)

// seen are candidates as checks see them.
func seen(all []verdict.Candidate) []check.Candidate {
	c := make([]check.Candidate, len(all))
	for i, k := range all {
		c[i] = check.Candidate{Cause: k.Cause, Side: k.Side.String(), Probability: k.Probability}
	}
	return c
}

// acts tells whether what is likeliest to do is what one of the candidates asks for that can't be excluded.
func (t *trial) acts() bool { return t.mends(t.candidates) }

// mends tells so of any candidates.
func (t *trial) mends(all []verdict.Candidate) bool {
	actions := check.Actions(seen(all))
	if len(actions) == 0 {
		return false
	}
	for _, k := range all {
		if t.match(k.Key) >= allowed && check.ActionFor(k.Cause, k.Side.String()) == actions[0].Action {
			return true
		}
	}
	return false
}

// dangerous tells whether L stands on S, or N is open, where the tap shows volts and the fault left its trace.
func (t *trial) dangerous() bool {
	if t.basis.Volts == nil || t.truth.Trace.None() || !strings.HasSuffix(t.truth.Tap, "-terminal") {
		return false
	}
	for _, c := range t.truth.Causes {
		switch {
		case c.Cause == "reversed-conductors" && (c.Variant == "order-LS" || c.Variant == "order-SN"),
			c.Cause == "shorted-conductors" && strings.Contains(c.Conductor+c.Variant, "L"),
			c.Cause == "open-conductor" && c.Conductor == "N":
			return true
		}
	}
	return false
}

// located tells whether the conductor and the variant that the answer names are those staged.
func (t *trial) located() bool {
	v := &t.verdict
	for _, c := range t.truth.Causes {
		if c.Cause == v.Cause.String() && (v.Conductor == "" || v.Conductor == c.Conductor) && (v.Variant == "" || v.Variant == c.Variant) {
			return true
		}
	}
	return false
}

// warned tells whether the answer says so: by its cause, or in words.
func (t *trial) warned() bool {
	switch t.verdict.Cause {
	case cause.ReversedConductors, cause.ShortedConductors, cause.OpenConductor:
		return true
	}
	return strings.Contains(t.verdict.Summary, "live")
}

// visit is what came of checks by hand after a recording.
type visit struct {
	checks  int
	minutes float64
	settled bool // what to do is settled
	right   bool // what is likeliest to do is right
}

// When a visit ends: what to do has this probability; or after so many checks, or none is worth anything any more.
const (
	settled    = 0.95
	mostChecks = 8
)

// visit lets somebody make the checks that are worth most, and find what the staged cause lets a line of its kind show.
func (t *trial) visit() (v visit) {
	in := t.basis
	r := rand.New(rand.NewPCG(t.seed, 1))
	j := verdict.Judge(in)
	for v.checks < mostChecks {
		if a := check.Actions(seen(j.Candidates)); len(a) > 0 && a[0].Probability >= settled {
			v.settled = true
			break
		}
		next, found, ok := t.pretend(&j, r)
		if !ok {
			break
		}
		v.checks++
		v.minutes += next.Minutes
		in.Readings = append(in.Readings[:len(in.Readings):len(in.Readings)], found)
		j = verdict.Judge(in)
	}
	v.right = t.mends(j.Candidates)
	return v
}

// pretend makes the first check that a person can answer on the spot.
func (t *trial) pretend(j *verdict.Judged, r *rand.Rand) (check.Ranked, check.Reading, bool) {
	k, side := cause.None, "none"
	if len(t.truth.Causes) > 0 {
		c, err := cause.Parse(t.truth.Causes[0].Cause)
		if err != nil {
			return check.Ranked{}, check.Reading{}, false
		}
		k, side = c, t.truth.Causes[0].Side
	}
	for _, next := range j.About.Next(seen(j.Candidates), t.basis.Tap.String()) {
		if found, ok := j.About.Pretend(next.ID, k, side, r); ok && next.ID != check.Demand {
			return next, found, true
		}
	}
	return check.Ranked{}, check.Reading{}, false
}
