package compare

import (
	"math"
	"slices"

	"linewitness/decode/statistic"
)

const (
	mostDrift = 500e-6 // clocks of recorders differ by less: two crystals, or two sound inputs
	wander    = 5e-6   // that a clock's rate may move by within some hundred frames
	leastNear = 10e-6  // s, within which frames are always one: probes and their inputs differ by so much
	mostSeeds = 4
	leastHits = 8    // frames that an alignment takes at least
	leastPart = 0.5  // of the whole frames of the poorer recording, while both recorded
	rivalPart = 0.6  // of an alignment's score: a rival that has more leaves it open
	sureP     = 1e-3 // chance at which two recordings are taken to show one conversation
)

// Alignment says which instant of the first recording is which of the second.
type Alignment struct {
	Aligned bool
	Why     string // it is not aligned, or not sure; "" otherwise
	Line    Line
	Axis    *Axis // nil: none found
	Matched int   // whole frames that both show
	FirstOf int   // whole frames of the first while both recorded
	SecOf   int
	Chance  float64 // of gaps that agree so well on two occasions; NaN: could not be told
	From    float64 // s, first's axis: from here
	To      float64 // to here both recorded

	first, second *heard
	path          *path
}

// Sure tells whether the recordings show one conversation, by the units' own wavering in time.
func (al *Alignment) Sure() bool { return al.Aligned && al.Chance <= sureP }

// Align finds where two recordings show the same frames. Frames of equal content are one where their distances in time
// agree to half a unit interval.
func Align(first, second *Recording) *Alignment {
	a, b := hear(first), hear(second)
	al := &Alignment{Chance: math.NaN(), first: a, second: b, Line: fitLine(nil, nil)}
	if len(a.at) < leastHits || len(b.at) < leastHits {
		al.Why = "a recording has fewer than 8 whole frames"
		return al
	}
	near := max(leastNear, max(a.short, b.short)/2)
	best, rival := search(a, b, near)
	if best == nil {
		al.Why = "no row of frames is the same in both, with the same gaps between"
		return al
	}
	al.take(best)
	whole := min(al.FirstOf, al.SecOf)
	switch {
	case best.n < leastHits || float64(best.n) < leastPart*float64(whole):
		al.Why = "where frames and gaps agree best, too few of them do"
	case rival != nil && rival.score > rivalPart*best.score:
		al.Why = "frames and gaps agree about as well at two different offsets"
	default:
		al.Aligned = true
	}
	if al.Aligned {
		al.Chance = chance(first, a, b, best, near)
		if !al.Sure() {
			al.Why = "frames agree, but the units' timing is too even, or too little of it was seen, to tell one conversation from two alike"
		}
	}
	return al
}

func (al *Alignment) take(p *path) {
	a, b := al.first, al.second
	al.path, al.Axis = p, p.axis(a, b)
	al.Line, al.Matched = fitLine(al.Axis.a, al.Axis.b), p.n
	al.FirstOf, al.SecOf = p.n+p.aloneA, p.n+p.aloneB
	al.From, al.To = max(a.from, al.Axis.first(b.from)), min(a.to, al.Axis.first(b.to))
}

// mostPaths is how many paths are kept beside each other.
const mostPaths = 6

// search follows seeds, those of rare content first, and returns the best alignment and the best other one.
func search(a, b *heard, near float64) (best, rival *path) {
	var all []*path // of different offsets, best first
	try := func(seeds []seed) {
		for _, s := range seeds {
			if slices.ContainsFunc(all, func(p *path) bool { return p.to[s.i] == int32(s.j) }) {
				continue
			}
			if p := follow(a, b, s, near); p.n >= leastHits && !slices.ContainsFunc(all, p.same) {
				all = append(all, p)
				slices.SortStableFunc(all, byScore)
				all = all[:min(len(all), mostPaths)]
			}
		}
	}
	try(rare(a, b, near))
	if len(all) == 0 || all[0].n < 2*leastHits || all[0].score < leastPart*float64(all[0].n+all[0].aloneA) {
		try(gaps(a, b, near))
	}
	switch len(all) {
	case 0:
		return nil, nil
	case 1:
		return all[0], nil
	}
	closer(a, b, all)
	return all[0], all[1]
}

func byScore(p, q *path) int {
	switch {
	case p.score > q.score:
		return -1
	case p.score < q.score:
		return 1
	}
	return 0
}

// closer weighs paths anew, by how well the gaps of the closest one agree: where units hardly waver, gaps agree to near at any
// offset, but only at the right one as well as the recorders' own errors let them.
func closer(a, b *heard, all []*path) {
	const many = 6 // standard deviations
	scatter := math.Inf(1)
	for _, p := range all {
		if 2*p.n >= all[0].n {
			scatter = min(scatter, statistic.NormalMAD*statistic.Median(p.offs(a, b)))
		}
	}
	for _, p := range all {
		p.score = p.fit(a, b, max(leastNear, many*scatter))
	}
	slices.SortStableFunc(all, byScore)
}

// same tells whether two paths agree on most frames.
func (p *path) same(q *path) bool {
	n := 0
	for i, j := range p.to {
		if j >= 0 && j == q.to[i] {
			n++
		}
	}
	return 2*n > min(p.n, q.n)
}
