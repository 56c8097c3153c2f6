package check

import (
	"cmp"
	"slices"

	"linewitness/decode/cause"
)

// Action is what somebody does about a cause; a check is worth what it tells about that, not about names of faults that are mended alike.
type Action string

// The actions.
const (
	Leave          Action = "leave the line as it is"
	Reterminate    Action = "terminate anew or replace the wiring"
	Supply         Action = "see to the power supply"
	SetUp          Action = "set the units up anew"
	ReplaceIndoor  Action = "replace the indoor board"
	ReplaceOutdoor Action = "replace the outdoor board"
	ReplaceOne     Action = "replace one board"
)

// ActionFor is what a cause at a side asks for; "" for what is unlike anything known. Where sides are not told apart as indoor and
// outdoor, the side's own name keeps two units apart.
func ActionFor(k cause.Cause, side string) Action {
	switch {
	case !known(k):
		return ""
	case k == cause.None, k == cause.ProbeArtefact:
		return Leave
	case k == cause.NoPower, k == cause.VoltageSag:
		return Supply
	case k.Family() == cause.Wiring:
		return Reterminate
	case k.Family() == cause.Setup:
		return SetUp
	case side == "indoor":
		return ReplaceIndoor
	case side == "outdoor":
		return ReplaceOutdoor
	}
	return ReplaceOne + Action(" ("+side+")")
}

// Share is an action and the probability of the causes that ask for it.
type Share struct {
	Action      Action
	Probability float64
}

// Actions are what the candidates ask for, the likeliest first.
func Actions(candidates []Candidate) (all []Share) {
	for _, k := range candidates {
		a := ActionFor(k.Cause, k.Side)
		if a == "" {
			continue
		}
		at := slices.IndexFunc(all, func(s Share) bool { return s.Action == a })
		if at < 0 {
			at = len(all)
			all = append(all, Share{Action: a})
		}
		all[at].Probability += k.Probability
	}
	slices.SortStableFunc(all, func(a, b Share) int { return cmp.Compare(b.Probability, a.Probability) })
	return all
}
