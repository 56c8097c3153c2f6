package tally

import (
	"fmt"
	"sort"
	"strings"

	"linewitness/capture"
	"linewitness/capture/burst"
	"linewitness/decode/link"
	"linewitness/decode/uart"
)

// Bounds of what is kept: excerpts in all, of one kind, good ones, and transitions in one.
const (
	mostExcerpts    = 64
	mostOfKind      = 4
	mostGood        = 2
	mostTransitions = 20000
)

// Keeper collects excerpts while a recording is folded.
type Keeper struct {
	margin capture.Tick
	kinds  map[string]int
	kept   []Excerpt
	good   int
	scope  *Scope // nil: no volts
}

// WithVolts lets excerpts show the volts too, and returns the Scope that must get every block of samples before the
// batches that were cut from it are taken.
func (k *Keeper) WithVolts() *Scope {
	k.scope = newScope()
	return k.scope
}

// NewKeeper makes a keeper for a unit interval in ticks; ten of them are shown at each side of what is kept.
func NewKeeper(bit float64) *Keeper {
	return &Keeper{margin: capture.Tick(10 * bit), kinds: map[string]int{}}
}

// Take looks through a batch's frames, which have their sides already. Frames of one batch are shown together with the
// poll before them.
func (k *Keeper) Take(b *burst.Batch, frames []link.Frame, glitches []uart.Glitch) {
	if len(k.kept) >= mostExcerpts {
		return
	}
	for i := range frames {
		f := &frames[i]
		if f.Why&link.WhyCut != 0 {
			continue
		}
		if f.OK() {
			k.takeGood(b, frames, i, glitches)
			continue
		}
		what := strings.Join(f.Why.Names(), " and ")
		key := f.Side.String() + what
		if k.kinds[key] >= mostOfKind {
			continue
		}
		k.kinds[key]++
		k.keep(b, frames[back(frames, i):i+1], glitches, fmt.Sprintf("%s, side %s", what, f.Side), false,
			Note{At: f.At, Label: what})
	}
	for i := range glitches {
		if k.kinds["glitch"] >= mostOfKind {
			return
		}
		k.kinds["glitch"]++
		g := &glitches[i]
		k.keep(b, around(frames, g.At), glitches, "pulse too short for a bit", false, Note{At: g.At, Label: "short pulse"})
	}
}

// takeGood keeps the first good exchanges for comparison.
func (k *Keeper) takeGood(b *burst.Batch, frames []link.Frame, i int, glitches []uart.Glitch) {
	from := back(frames, i)
	if k.good >= mostGood || from == i && k.good > 0 || frames[from].Why != 0 || frames[i].Poll {
		return
	}
	k.good++
	k.keep(b, frames[from:i+1], glitches, "good traffic", true)
}

// back is the index of the poll that frame i answers, or i.
func back(frames []link.Frame, i int) int {
	if i > 0 && frames[i].Turnaround >= 0 && frames[i-1].Poll {
		return i - 1
	}
	return i
}

// around is the frame that an instant falls into, if any.
func around(frames []link.Frame, at capture.Tick) []link.Frame {
	for i := range frames {
		if frames[i].At <= at && at <= frames[i].End {
			return frames[i : i+1]
		}
	}
	return nil
}

// keep copies a stretch of a batch.
func (k *Keeper) keep(b *burst.Batch, frames []link.Frame, glitches []uart.Glitch, what string, good bool, notes ...Note) {
	if len(k.kept) >= mostExcerpts {
		return
	}
	e := Excerpt{What: what, Good: good, Notes: notes}
	switch {
	case len(frames) > 0:
		e.From, e.To = frames[0].At-k.margin, frames[len(frames)-1].End+k.margin
	default:
		e.From, e.To = notes[0].At-2*k.margin, notes[0].At+2*k.margin
	}
	lo := sort.Search(len(b.At), func(i int) bool { return b.At[i] >= e.From })
	hi := sort.Search(len(b.At), func(i int) bool { return b.At[i] > e.To })
	hi = min(hi, lo+mostTransitions)
	e.Line.At = append(e.Line.At, b.At[lo:hi]...)
	e.Line.To = append(e.Line.To, b.To[lo:hi]...)
	switch {
	case lo > 0:
		e.First = b.To[lo-1]
	case lo < hi && b.To[lo] == capture.High:
		e.First = capture.Low
	default:
		e.First = capture.High
	}
	for i := range frames {
		e.Frames = append(e.Frames, clone(&frames[i]))
	}
	for _, g := range glitches {
		if g.At >= e.From && g.At <= e.To && len(e.Glitches) < 100 {
			e.Glitches = append(e.Glitches, g)
		}
	}
	if k.scope != nil {
		e.Volts = k.scope.columns(e.From, e.To)
	}
	k.kept = append(k.kept, e)
}

// Event shows the volts of an interval, with half of its length and a unit interval around it; at are the levels as they
// usually stand.
func (k *Keeper) Event(kind, what string, from, to capture.Tick, at [4]float64) {
	if k.scope == nil || k.kinds[kind] >= mostOfKind || len(k.kept) >= mostExcerpts {
		return
	}
	around := (to-from)/2 + k.margin
	e := Excerpt{What: what, From: from - around, To: to + around, Usual: at, Notes: []Note{{At: from, Label: kind}}}
	if e.Volts = k.scope.columns(e.From, e.To); len(e.Volts) == 0 {
		return // it lasted longer than what is remembered
	}
	k.kinds[kind]++
	k.kept = append(k.kept, e)
}

func clone(f *link.Frame) link.Frame {
	c := *f
	c.Values = append([]uint16(nil), f.Values...)
	c.Chars = append([]uart.Character(nil), f.Chars...)
	return c
}

// Excerpts are what was kept so far: findings in order of time, then good traffic.
func (k *Keeper) Excerpts() []Excerpt {
	all := append([]Excerpt(nil), k.kept...)
	sort.SliceStable(all, func(i, j int) bool {
		if all[i].Good != all[j].Good {
			return all[j].Good
		}
		return all[i].From < all[j].From
	})
	return all
}
