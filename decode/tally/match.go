package tally

import (
	"sort"

	"linewitness/capture"
	"linewitness/decode/link"
)

// mostClasses is how many kinds of good frames are remembered.
const mostClasses = 32

// class is what frames must have in common to be compared: their sender and their shape or, where none is known, their length.
type class struct {
	side   capture.Side
	shape  int // -1: not known, then
	length int // in characters
}

func classOf(f *link.Frame) class {
	if f.Shape >= 0 {
		return class{f.Side, f.Shape, 0}
	}
	return class{f.Side, -1, len(f.Values)}
}

// finding is an excerpt around what was found, and the good frame that it is compared with.
type finding struct {
	Excerpt
	match
	class class
	at    capture.Tick // of its frame
	asks  bool         // the first good frame of its sender after it was not seen yet
	seeks bool         // nor that of its class
}

// match is the good frame nearest to a finding so far: of its class, or until there is one of its sender.
type match struct {
	Excerpt Excerpt
	found   bool
	exact   bool         // of the finding's class
	apart   capture.Tick // from the one to the other
}

// memory is the latest good frame of a class.
type memory struct {
	class
	at   capture.Tick
	now  int     // its index in the batch at hand; -1: it came before
	shot Excerpt // then
}

// matcher remembers good frames and who waits for one.
type matcher struct {
	of    []memory
	asks  map[capture.Side]int
	seeks map[class]int
}

// good takes note of a good frame and tells whether a finding waits for it.
func (m *matcher) good(f *link.Frame, i int) bool {
	c := classOf(f)
	at := m.index(c)
	if at < 0 && len(m.of) < mostClasses {
		at = len(m.of)
		m.of = append(m.of, memory{class: c})
	}
	if at >= 0 {
		m.of[at].at, m.of[at].now = f.At, i
	}
	return len(m.asks) > 0 && m.asks[f.Side] > 0 || len(m.seeks) > 0 && m.seeks[c] > 0
}

func (m *matcher) index(c class) int {
	for i := range m.of {
		if m.of[i].class == c {
			return i
		}
	}
	return -1
}

// before gives a finding the nearest good frame before its own, and lets it wait for one after it.
func (m *matcher) before(n *finding, f *link.Frame, v *view) {
	n.class, n.at, n.asks, n.seeks = classOf(f), f.At, true, true
	if m.asks == nil {
		m.asks, m.seeks = map[capture.Side]int{}, map[class]int{}
	}
	m.asks[f.Side]++
	m.seeks[n.class]++
	var best *memory
	for i := range m.of {
		o := &m.of[i]
		if o.side != f.Side {
			continue
		}
		if o.class == n.class {
			best = o
			break
		}
		if best == nil || o.at > best.at {
			best = o
		}
	}
	if best == nil {
		return
	}
	n.match = match{found: true, exact: best.class == n.class, apart: f.At - best.at}
	if best.now >= 0 {
		v.exchange(&n.match.Excerpt, best.now)
		return
	}
	copyTo(&n.match.Excerpt, &best.shot)
}

// after offers a good frame to the findings before it.
func (m *matcher) after(all []finding, f *link.Frame, e *Excerpt) {
	c := classOf(f)
	for i := range all {
		n := &all[i]
		exact := n.class == c
		if n.class.side != f.Side || n.at >= f.At || !n.asks && !(exact && n.seeks) {
			continue
		}
		if n.asks {
			n.asks = false
			m.asks[f.Side]--
		}
		if exact && n.seeks {
			n.seeks = false
			m.seeks[c]--
		}
		if o := (match{found: true, exact: exact, apart: f.At - n.at}); o.better(&n.match) {
			o.Excerpt = *e
			n.match = o
		}
	}
}

func (m *match) better(than *match) bool {
	return !than.found || m.exact && !than.exact || m.exact == than.exact && m.apart < than.apart
}

// remember copies the latest good frames of a batch that ends.
func (m *matcher) remember(v *view) {
	for i := range m.of {
		if o := &m.of[i]; o.now >= 0 {
			v.exchange(&o.shot, o.now)
			o.now = -1
		}
	}
}

// matches are the good frames that findings are compared with, each once, in order of time.
func matches(found []finding) (all []Excerpt) {
	for i := range found {
		if m := &found[i].match; m.found {
			all = append(all, m.Excerpt)
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return shown(&all[i]).At < shown(&all[j]).At })
	n := 0
	for i := range all {
		if i > 0 && shown(&all[i]).At == shown(&all[n-1]).At {
			continue
		}
		all[n] = all[i]
		all[n].Good, all[n].What = true, "good traffic, side "+shown(&all[n]).Side.String()
		n++
	}
	return all[:n]
}

// shown is the frame that an excerpt is about; before it may stand its poll.
func shown(e *Excerpt) *link.Frame { return &e.Frames[len(e.Frames)-1] }
