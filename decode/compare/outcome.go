package compare

import (
	"math"
	"slices"

	"linewitness/capture"
	"linewitness/decode/link"
)

// fate is what both ends show of a frame.
type fate uint8

const (
	both       fate = iota // whole, with the same content
	firstOnly              // whole at the first end only
	secondOnly             //
	alike                  // damaged at both, with the same characters at the same instants
	unalike                // damaged at both, otherwise
	opposed                // both ends show a space, each that of another sender: the line stands open between them
	firstNoise             // no frame, and nothing at the second end
	secondNoise
)

// outcome is a frame as both ends show it.
type outcome struct {
	at            float64 // s, first's axis
	first, second capture.Tick
	fate          fate
	side          capture.Side // as the first recording names it
	poll, shaped  bool         // shaped: it has a frame's shape
	clean         bool         // damaged alike, of a usual length, and by nothing but its checksum
	missing       bool         // nothing at all at the end that does not show it whole
}

// pairing goes through both recordings side by side.
type pairing struct {
	a, b     *Recording
	al       *Alignment
	partner  []int32 // by frame of a
	taken    []bool  // by frame of b
	named    [8]capture.Side
	usual    [8]map[uint16]bool // lengths of whole frames, by the first's side
	all      []outcome
	near     float64 // s
	bit      float64
	from, to [2]float64 // what both cover, on either axis
}

// outcomes are all frames that could have been seen at both ends, in order of time.
func outcomes(a, b *Recording, al *Alignment) []outcome {
	p := &pairing{a: a, b: b, al: al, bit: max(a.Bit, b.Bit), all: make([]outcome, 0, len(a.Frames))}
	p.near = max(leastNear, p.bit/2)
	p.from = [2]float64{al.From, al.Axis.second(al.From)}
	p.to = [2]float64{al.To, al.Axis.second(al.To)}
	p.pair()
	p.firstPass()
	p.secondPass()
	slices.SortStableFunc(p.all, func(x, y outcome) int {
		switch {
		case x.at < y.at:
			return -1
		case x.at > y.at:
			return 1
		}
		return 0
	})
	return p.all
}

// pair takes over which whole frames are one, and what the second recording's sides are called in the first.
func (p *pairing) pair() {
	p.partner, p.taken = make([]int32, len(p.a.Frames)), make([]bool, len(p.b.Frames))
	for i := range p.partner {
		p.partner[i] = -1
	}
	var votes [8][8]int
	for i, j := range p.al.path.to {
		if j >= 0 {
			x, y := p.al.first.of[i], p.al.second.of[j]
			p.partner[x], p.taken[y] = int32(y), true
			f := &p.a.Frames[x]
			if p.usual[f.Side&7] == nil {
				p.usual[f.Side&7] = map[uint16]bool{}
			}
			p.usual[f.Side&7][f.Length] = true
			votes[p.b.Frames[y].Side&7][f.Side&7]++
		}
	}
	for s := range votes {
		p.named[s] = capture.Side(s)
		best := 0
		for t, n := range votes[s] {
			if n > best {
				best, p.named[s] = n, capture.Side(t)
			}
		}
	}
}

// covered tells whether a recording has all of an interval of its own axis.
func covered(r *Recording, from, to float64) bool {
	k, _ := slices.BinarySearchFunc(r.Gaps, from, func(g Span, t float64) int {
		if r.Clock.Seconds(g.To) < t {
			return -1
		}
		return 1
	})
	return k == len(r.Gaps) || r.Clock.Seconds(r.Gaps[k].From) > to
}

// firstPass takes the frames of the first recording.
func (p *pairing) firstPass() {
	lo := 0
	for i := range p.a.Frames {
		f := &p.a.Frames[i]
		at, end := p.a.Clock.Seconds(f.At), p.a.Clock.Seconds(f.End)
		t, te := p.al.Axis.second(at), p.al.Axis.second(end)
		if f.Why&link.WhyCut != 0 || at < p.from[0] || end > p.to[0] || !covered(p.b, t, te) {
			continue
		}
		o := outcome{at: at, first: f.At, second: p.b.Clock.Ticks(t), side: f.Side, poll: f.Poll, shaped: f.Why&link.WhyUnframed == 0}
		if j := p.partner[i]; j >= 0 {
			g := &p.b.Frames[j]
			o.second, o.poll = g.At, f.Poll || g.Poll
			p.all = append(p.all, o)
			continue
		}
		var over []int
		over, lo = overlapping(p.b, lo, t, te, p.bit)
		if p.judgeFirst(&o, f, over, t) {
			p.all = append(p.all, o)
		}
	}
}

// judgeFirst gives a frame of the first recording without a partner its fate; false: the second's frames have it.
func (p *pairing) judgeFirst(o *outcome, f *Frame, over []int, t float64) bool {
	o.missing = len(over) == 0
	if f.Whole() {
		o.fate = firstOnly
		for _, j := range over {
			if g := &p.b.Frames[j]; g.Whole() && g.Hash == f.Hash && !p.taken[j] {
				o.fate, p.taken[j] = both, true
			}
		}
		return true
	}
	if o.fate = firstNoise; len(over) > 0 {
		o.fate = unalike
	}
	for _, j := range over {
		g := &p.b.Frames[j]
		switch {
		case g.Whole():
			return false
		case p.a.Mid && p.b.Mid && f.Space != g.Space && f.Space != capture.Unknown && g.Space != capture.Unknown:
			o.fate = opposed
		case o.fate != opposed && g.Hash == f.Hash && math.Abs(p.b.Clock.Seconds(g.At)-t) <= p.near:
			o.fate, o.clean = alike, f.Why&^link.WhyTiming == link.WhyChecksum && p.usual[f.Side&7][f.Length]
		}
		o.shaped = o.shaped || g.Why&link.WhyUnframed == 0
	}
	return true
}

// secondPass takes the frames of the second recording that the first does not show whole.
func (p *pairing) secondPass() {
	lo := 0
	for j := range p.b.Frames {
		f := &p.b.Frames[j]
		at, end := p.b.Clock.Seconds(f.At), p.b.Clock.Seconds(f.End)
		t, te := p.al.Axis.first(at), p.al.Axis.first(end)
		if p.taken[j] || f.Why&link.WhyCut != 0 || at < p.from[1] || end > p.to[1] || !covered(p.a, t, te) {
			continue
		}
		var over []int
		over, lo = overlapping(p.a, lo, t, te, p.bit)
		o := outcome{at: t, first: p.a.Clock.Ticks(t), second: f.At, side: p.named[f.Side&7], poll: f.Poll, missing: len(over) == 0,
			fate: secondOnly, shaped: f.Why&link.WhyUnframed == 0}
		if !f.Whole() {
			if len(over) > 0 {
				continue // the first's frames told it
			}
			o.fate = secondNoise
		}
		p.all = append(p.all, o)
	}
}

// overlapping are the frames from index lo on that share more than a unit interval with an interval, and where the next
// such search may begin.
func overlapping(r *Recording, lo int, from, to, bit float64) (over []int, next int) {
	for lo < len(r.Frames) && r.Clock.Seconds(r.Frames[lo].End) <= from+bit {
		lo++
	}
	for j := lo; j < len(r.Frames) && r.Clock.Seconds(r.Frames[j].At) < to-bit; j++ {
		if r.Frames[j].Why&link.WhyCut == 0 {
			over = append(over, j)
		}
	}
	return over, lo
}
