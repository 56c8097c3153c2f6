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
	family    int    // answers of a family that can't be excluded
	answered  int
	action    int // what is likeliest to do would be right
	innocent  int // a board blamed where none can be to blame
	claimed   int // a fault claimed where nothing is wrong that shows
	certain   int // answers at sure and more
	certainOK int // of them, right or allowed
	second    int // a second fault named
	secondOK  int // of them, one that was staged or can't be excluded
	named     int // answers with a conductor or a variant
	namedOK   int // of them, as staged
	danger    int // L on the signal line, or N open, where volts show it
	missed    int // of them, not said
	logs      float64
	brier     float64
	reliable  []told
	visits    visits
}

// visits sums up what came of checks by hand.
type visits struct {
	n, settled, right, checks int
	minutes                   float64
}

func (v *visits) add(one visit) {
	v.n++
	v.checks += one.checks
	v.minutes += one.minutes
	if one.settled {
		v.settled++
	}
	if one.right {
		v.right++
	}
}

func (v *visits) print(w io.Writer) {
	n := float64(max(v.n, 1))
	fmt.Fprintf(w, "\nthen checks by hand as ranked, read as the staged cause lets lines show: %.1f checks of %.0f min in all each\n", float64(v.checks)/n, v.minutes/n)
	share(w, fmt.Sprintf("what to do is settled at %.0f %%", 100*settled), v.settled, v.n)
	share(w, "what is likeliest to do is right", v.right, v.n)
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
	lead := t.candidates[0]
	c.reliable = append(c.reliable, told{lead.Probability, t.match(lead.Key) >= allowed})
	if t.acts() {
		c.action++
	}
	if t.dangerous() {
		c.danger++
		if !t.warned() {
			c.missed++
		}
	}
	for _, k := range t.also {
		c.second++
		if t.match(k.Key) >= allowed {
			c.secondOK++
		}
	}
	if t.verdict.Undetermined {
		return
	}
	c.answered++
	if v := &t.verdict; v.Conductor != "" || v.Variant != "" {
		c.named++
		if t.located() {
			c.namedOK++
		}
	}
	if t.family(t.verdict.Family) {
		c.family++
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
	if t.name() != cause.OtherCause.String() { // nothing follows from what is unlike anything known
		s.all.visits.add(t.visit())
	}
	for _, g := range s.groups {
		k := g.of(t)
		if g.keys[k] == nil {
			g.keys[k] = &tally{}
		}
		g.keys[k].add(t)
	}
}

const head = "%-24s %6s %6s %8s %6s %6s %7s %7s  %s\n"

// print writes the tables.
func (s *scores) print(w io.Writer) {
	for _, g := range s.groups {
		fmt.Fprintf(w, head, g.title, "lines", "right", "allowed", "open", "wrong", "bits", "Brier", "right or allowed, 95 %")
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
	for _, severity := range []string{"gross", "medium", "slight"} {
		if g := s.groups[3].keys[severity]; g != nil {
			share(w, severity+": an answer is given", g.answered, g.n)
			share(w, severity+": of those, the family", g.family, g.answered)
			share(w, severity+": of those, the cause and side", g.of[right]+g.of[allowed], g.answered)
		}
	}
	share(w, "what is likeliest to do is right", c.action, c.n)
	share(w, "a board blamed that can't be to blame", c.innocent, c.n)
	if sound := s.groups[0].keys["none"]; sound != nil {
		share(w, "a fault claimed on a sound line", sound.claimed, sound.n)
	}
	share(w, fmt.Sprintf("an answer at %.0f %% and more", 100*sure), c.certain, c.n)
	share(w, "of those, right or allowed", c.certainOK, c.certain)
	share(w, "a second fault named", c.second, c.n)
	share(w, "of those, right or allowed", c.secondOK, c.second)
	share(w, "a conductor or an order named", c.named, c.n)
	share(w, "of those, as staged", c.namedOK, c.named)
	share(w, "danger shown by volts and not said", c.missed, c.danger)
	if a, b, ok := recalibration(c.reliable); ok {
		fmt.Fprintf(w, "logistic recalibration of the leading candidate: slope %.2f, offset %+.2f\n", b, a)
	}
	c.visits.print(w)
}

func (c *tally) row(w io.Writer, name string) {
	n := float64(c.n)
	ok := c.of[right] + c.of[allowed]
	low, high := verdict.Wilson(float64(ok), n)
	fmt.Fprintf(w, "%-24s %6d %6d %8d %6d %6d %7.2f %7.3f  %.0f %% (%.0f to %.0f)\n", name, c.n, c.of[right], c.of[allowed], c.of[open], c.of[wrong], c.logs/n, c.brier/n,
		100*float64(ok)/n, 100*low, 100*high)
}

// share prints a proportion with its 95 % interval.
func share(w io.Writer, what string, k, n int) {
	if n == 0 {
		fmt.Fprintf(w, "%-40s none\n", what)
		return
	}
	low, high := verdict.Wilson(float64(k), float64(n))
	fmt.Fprintf(w, "%-40s %5d of %5d, %5.1f %% (%.1f to %.1f)\n", what, k, n, 100*float64(k)/float64(n), 100*low, 100*high)
}
