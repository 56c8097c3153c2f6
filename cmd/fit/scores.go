package main

import (
	"fmt"
	"io"
	"math"
	"slices"

	"linewitness/decode/cause"
	"linewitness/decode/verdict"
)

// sure is the probability from which on an answer counts as given without doubt.
const sure = 0.9

// tally counts trials.
type tally struct {
	n         int
	of        [4]int // by outcome
	innocent  int    // a board blamed where none can be to blame
	claimed   int    // a fault claimed where nothing is wrong that shows
	certain   int    // answers at sure and more
	certainOK int    // of them, right or allowed
	logs      float64
	brier     float64
}

// add counts one. The log score is minus log2 of the probability given to what can't be excluded, 20 at most; the Brier
// score the square of what was kept from it (Brier, Monthly Weather Review 78(1), 1950).
func (c *tally) add(t *trial) {
	o := t.outcome()
	accepted, _ := t.share()
	c.n++
	c.of[o]++
	c.logs += math.Min(20, -math.Log2(accepted))
	c.brier += (1 - accepted) * (1 - accepted)
	if t.verdict.Undetermined {
		return
	}
	if t.verdict.Family == cause.Board && !t.family(cause.Board) {
		c.innocent++
	}
	if t.verdict.Cause != cause.None && t.sound() {
		c.claimed++
	}
	if t.verdict.Probability >= sure {
		c.certain++
		if o >= allowed {
			c.certainOK++
		}
	}
}

// scores are the tallies of a run.
type scores struct {
	all    tally
	groups []group
}

// group is a way to part the trials.
type group struct {
	title string
	of    func(*trial) string
	keys  map[string]*tally
}

func newScores() *scores {
	return &scores{groups: []group{
		{"cause", (*trial).name, map[string]*tally{}},
		{"world", func(t *trial) string { return t.truth.World }, map[string]*tally{}},
		{"tap", func(t *trial) string { return t.truth.Tap }, map[string]*tally{}},
		{"severity", (*trial).severity, map[string]*tally{}},
	}}
}

func (s *scores) add(t *trial) {
	s.all.add(t)
	for _, g := range s.groups {
		k := g.of(t)
		if g.keys[k] == nil {
			g.keys[k] = &tally{}
		}
		g.keys[k].add(t)
	}
}

const head = "%-24s %6s %6s %8s %6s %6s %7s %7s\n"

// print writes the tables.
func (s *scores) print(w io.Writer) {
	for _, g := range s.groups {
		fmt.Fprintf(w, head, g.title, "lines", "right", "allowed", "open", "wrong", "bits", "Brier")
		var keys []string
		for k := range g.keys {
			keys = append(keys, k)
		}
		slices.Sort(keys)
		for _, k := range keys {
			g.keys[k].row(w, k)
		}
		fmt.Fprintln(w)
	}
	s.all.row(w, "all")
	fmt.Fprintln(w)
	c := &s.all
	share(w, "wrong", c.of[wrong], c.n)
	share(w, "a board blamed that can't be to blame", c.innocent, c.n)
	if sound := s.groups[0].keys["none"]; sound != nil {
		share(w, "a fault claimed on a sound line", sound.claimed, sound.n)
	}
	share(w, fmt.Sprintf("an answer at %.0f %% and more", 100*sure), c.certain, c.n)
	share(w, "of those, right or allowed", c.certainOK, c.certain)
}

func (c *tally) row(w io.Writer, name string) {
	n := float64(c.n)
	fmt.Fprintf(w, "%-24s %6d %6d %8d %6d %6d %7.2f %7.3f\n", name, c.n, c.of[right], c.of[allowed], c.of[open], c.of[wrong], c.logs/n, c.brier/n)
}

// share prints a proportion with its 95 % interval.
func share(w io.Writer, what string, k, n int) {
	low, high := verdict.Wilson(float64(k), float64(n))
	fmt.Fprintf(w, "%-40s %5d of %5d, %5.1f %% (%.1f to %.1f)\n", what, k, n, 100*float64(k)/float64(n), 100*low, 100*high)
}
