package tally

import (
	"sort"
	"strings"

	"linewitness/capture"
	"linewitness/capture/burst"
	"linewitness/decode/link"
	"linewitness/decode/uart"
)

// Bounds of what is kept: excerpts around findings in all, of these around what happened to the volts, of one kind, good traffic where
// nothing was found, transitions and glitches in one. Of good frames that a finding is compared with there is at most one each.
const (
	mostExcerpts    = 64
	mostEvents      = 4
	mostOfKind      = 4
	mostGood        = 2
	mostTransitions = 20000
	mostGlitches    = 100
)

// Keeper collects excerpts while a recording is folded. What it keeps does not hang on how bursts were put into batches.
type Keeper struct {
	margin capture.Tick
	kinds  map[kind]int
	events map[string]int
	kept   []finding
	first  []Excerpt // good traffic, the first
	happen []Excerpt // events
	scope  *Scope    // nil: no volts
	match  matcher
	view   view
}

// kind is a kind of finding in frames: by sender and rules that were broken; glitches have no rule.
type kind struct {
	side capture.Side
	why  link.Why
}

// WithVolts lets excerpts show the volts too, and returns the Scope that must get every block of samples before the
// batches that were cut from it are taken.
func (k *Keeper) WithVolts() *Scope {
	k.scope = newScope()
	return k.scope
}

// NewKeeper makes a keeper for a unit interval in ticks; ten of them are shown at each side of what is kept, or as much as surely
// lies between two bursts: rest ticks.
func NewKeeper(bit float64, rest capture.Tick) *Keeper {
	return &Keeper{margin: min(capture.Tick(10*bit), rest), kinds: map[kind]int{}, events: map[string]int{}}
}

// Take looks through a batch's frames, which have their sides already. A reply is shown together with its poll.
func (k *Keeper) Take(b *burst.Batch, frames []link.Frame, glitches []uart.Glitch) {
	v := &k.view
	v.begin(b, frames, glitches, k.margin)
	g := 0
	for i := range frames {
		f := &frames[i]
		for ; g < len(glitches) && glitches[g].At <= f.End; g++ {
			k.glitch(&glitches[g]) // before the frame: it is not compared with itself
		}
		switch {
		case f.Why&link.WhyCut != 0:
		case f.OK():
			k.good(i)
		default:
			k.bad(i)
		}
	}
	for ; g < len(glitches); g++ {
		k.glitch(&glitches[g])
	}
	k.match.remember(v)
	v.end()
}

// room tells whether another finding of a kind may be kept, and counts it.
func (k *Keeper) room(of kind) bool {
	if len(k.kept) >= mostExcerpts-mostEvents || k.kinds[of] >= mostOfKind {
		return false
	}
	k.kinds[of]++
	return true
}

// bad keeps a frame that broke a rule.
func (k *Keeper) bad(i int) {
	f := &k.view.frames[i]
	if !k.room(kind{f.Side, f.Why}) {
		return
	}
	what := strings.Join(f.Why.Names(), " and ")
	var e Excerpt
	k.view.exchange(&e, i)
	e.What, e.Notes = what+", side "+f.Side.String(), []Note{{At: f.At, Label: what}}
	k.keep(&e, f)
}

// glitch keeps a pulse too short for a bit, with the frame that it falls into.
func (k *Keeper) glitch(g *uart.Glitch) {
	if !k.room(kind{}) {
		return
	}
	var e Excerpt
	i := k.view.around(g.At)
	if i < 0 {
		k.view.stretch(&e, g.At-k.margin, g.At+g.Width+k.margin)
	} else {
		k.view.alone(&e, i)
	}
	e.What, e.Notes = "pulse too short for a bit", []Note{{At: g.At, Label: "short pulse"}}
	if i < 0 {
		k.keep(&e, nil)
		return
	}
	k.keep(&e, &k.view.frames[i])
}

// keep takes a finding, and a frame of it that wants a good one beside it.
func (k *Keeper) keep(e *Excerpt, f *link.Frame) {
	k.volts(e)
	n := finding{Excerpt: *e}
	if f != nil {
		k.match.before(&n, f, &k.view)
		k.volts(&n.match.Excerpt)
	}
	k.kept = append(k.kept, n)
}

// good offers a good frame to the findings that wait for one, and keeps the first exchanges.
func (k *Keeper) good(i int) {
	v := &k.view
	f := &v.frames[i]
	if k.match.good(f, i) {
		var e Excerpt
		v.exchange(&e, i)
		k.volts(&e)
		k.match.after(k.kept, f, &e)
	}
	poll, answers := v.back(i)
	if len(k.first) >= mostGood || !answers && len(k.first) > 0 || answers && !poll.OK() || f.Poll {
		return
	}
	var e Excerpt
	v.exchange(&e, i)
	e.What, e.Good = "good traffic", true
	k.volts(&e)
	k.first = append(k.first, e)
}

// volts gives an excerpt the volts that are remembered of it.
func (k *Keeper) volts(e *Excerpt) {
	if k.scope != nil && e.To > e.From {
		e.Volts = k.scope.columns(e.From, e.To, k.view.until())
	}
}

// Event shows the volts of an interval, with half of its length and a unit interval around it; at are the levels as they
// usually stand. It must be called as soon as the scope has all of EventEnds.
func (k *Keeper) Event(kind, what string, from, to capture.Tick, at [4]float64) {
	if k.scope == nil || k.events[kind] >= mostOfKind || len(k.happen) >= mostEvents {
		return
	}
	e := Excerpt{What: what, From: from - k.around(from, to), To: k.EventEnds(from, to), Usual: at, Notes: []Note{{At: from, Label: kind}}}
	if e.Volts = k.scope.columns(e.From, e.To, e.To); len(e.Volts) == 0 {
		return // it lasted longer than what is remembered
	}
	k.events[kind]++
	k.happen = append(k.happen, e)
}

// EventEnds is how far an event's excerpt reaches.
func (k *Keeper) EventEnds(from, to capture.Tick) capture.Tick { return to + k.around(from, to) }

func (k *Keeper) around(from, to capture.Tick) capture.Tick { return (to-from)/2 + k.margin }

// Excerpts are what was kept so far: findings in order of time, then good traffic in order of time. Those that are compared with a
// good frame name its place in the list.
func (k *Keeper) Excerpts() []Excerpt {
	found := append([]finding(nil), k.kept...)
	for _, e := range k.happen {
		found = append(found, finding{Excerpt: e})
	}
	sort.SliceStable(found, func(i, j int) bool { return found[i].From < found[j].From })
	all := make([]Excerpt, 0, 2*len(found)+mostGood)
	for i := range found {
		all = append(all, found[i].Excerpt)
	}
	good := matches(found)
	if len(good) == 0 {
		good = k.first
	}
	for i := range found {
		if m := &found[i].match; m.found {
			at := shown(&m.Excerpt).At
			all[i].Like = 1 + len(found) + sort.Search(len(good), func(n int) bool { return shown(&good[n]).At >= at })
		}
	}
	return append(all, good...)
}
