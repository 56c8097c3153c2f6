package decode

import (
	"slices"

	"linewitness/capture"
	"linewitness/decode/check"
	"linewitness/decode/verdict"
)

// Unrecorded is the finding of a line of which nothing was recorded, by what was read there by hand. The tap says which kind of line it
// is; TapUnknown: any.
func Unrecorded(tap capture.Tap, readings []check.Reading) *Finding {
	f := &Finding{Recording: Recording{Tap: tap}, Basis: &verdict.Input{Tap: tap, Readings: readings, Bare: true}}
	f.judge()
	f.Caution = check.Caution(tap.String())
	return f
}

// With is the finding with other readings by hand; all else is shared with f.
func (f *Finding) With(readings []check.Reading) *Finding {
	g, in := *f, *f.Basis
	in.Readings = readings
	g.Basis = &in
	g.judge()
	return &g
}

// judge sets all that follows from the finding's basis.
func (f *Finding) judge() {
	j := verdict.Judge(*f.Basis)
	f.Verdict, f.Candidates, f.Also, f.Evidence, f.Cleared, f.Prior = j.Verdict, j.Candidates, j.Also, j.Evidence, j.Cleared, j.Prior
	all := candidates(j.Candidates)
	f.Actions = check.Actions(all)
	tap := f.Basis.Tap.String()
	if f.Basis.Bare && f.Basis.Tap == capture.TapUnknown {
		tap = check.Unrecorded
	}
	f.NextChecks = next(&j, all, tap)
}

// candidates are a verdict's as checks see them.
func candidates(all []verdict.Candidate) []check.Candidate {
	in := make([]check.Candidate, len(all))
	for i, c := range all {
		in[i] = check.Candidate{Cause: c.Cause, Side: c.Side.String(), Probability: c.Probability}
	}
	return in
}

// next ranks the checks for what is still open; a reading that is in doubt comes first, once more.
func next(j *verdict.Judged, all []check.Candidate, tap string) []check.Ranked {
	ranked := j.About.Next(all, tap)
	if j.Repeat != "" {
		ranked = slices.Insert(ranked, 0, j.About.Again(j.Repeat))
	}
	return ranked
}
