package tally

import (
	"sort"

	"linewitness/capture"
)

// Bounds of a scope: samples that it remembers, and columns of an excerpt.
const (
	scopeSamples = 1 << 17
	mostColumns  = 2000
)

// MostSamples is how many samples a block may have that a scope takes, so that scopeSure of those before it are surely remembered.
const (
	MostSamples = 1 << 13
	scopeSure   = scopeSamples - 2*MostSamples
)

// Scope remembers the latest samples, so that an excerpt can show the volts around what was found.
type Scope struct {
	at    []capture.Tick // a ring
	volts []float64
	next  int  // where the next sample goes
	full  bool // the ring has gone round
}

func newScope() *Scope {
	return &Scope{at: make([]capture.Tick, scopeSamples), volts: make([]float64, scopeSamples)}
}

// Add takes a block's samples, MostSamples at most.
func (s *Scope) Add(b *capture.Block) {
	at, volts := b.SampleAt, b.Volts
	for len(at) > 0 {
		n := copy(s.at[s.next:], at)
		copy(s.volts[s.next:], volts)
		at, volts = at[n:], volts[n:]
		if s.next += n; s.next == len(s.at) {
			s.next, s.full = 0, true
		}
	}
}

// len is how many samples are remembered; the i-th oldest stands at index(i).
func (s *Scope) len() int {
	if s.full {
		return len(s.at)
	}
	return s.next
}

func (s *Scope) index(i int) int {
	if s.full {
		i += s.next
	}
	return i % len(s.at)
}

// within are the indices, from the oldest remembered on, of the samples in [from, to]. ok is false where more than scopeSure of them
// came between from and until, the instant by which the scope was asked: whether those are remembered would hang on how much more the
// block held that brought the answer.
func (s *Scope) within(from, to, until capture.Tick) (lo, hi int, ok bool) {
	n := s.len()
	lo = sort.Search(n, func(i int) bool { return s.at[s.index(i)] >= from })
	hi = lo + sort.Search(n-lo, func(i int) bool { return s.at[s.index(lo+i)] > to })
	end := hi + sort.Search(n-hi, func(i int) bool { return s.at[s.index(hi+i)] >= until })
	return lo, hi, end-lo <= scopeSure && !(lo == 0 && s.full)
}

// between are the samples in [from, to], in two runs; none where they are not remembered. They are valid until the next Add.
func (s *Scope) between(from, to, until capture.Tick) (old, late capture.Samples) {
	lo, hi, ok := s.within(from, to, until)
	if !ok || lo == hi {
		return old, late
	}
	i, j := s.index(lo), s.index(hi-1)+1
	if i < j {
		return capture.Samples{SampleAt: s.at[i:j], Volts: s.volts[i:j]}, late
	}
	old = capture.Samples{SampleAt: s.at[i:], Volts: s.volts[i:]}
	return old, capture.Samples{SampleAt: s.at[:j], Volts: s.volts[:j]}
}

// columns are the volts in [from, to], thinned to mostColumns; empty where they are not remembered.
func (s *Scope) columns(from, to, until capture.Tick) (cols []Column) {
	lo, hi, ok := s.within(from, to, until)
	if !ok {
		return nil
	}
	each := (hi - lo + mostColumns - 1) / mostColumns
	for i := lo; i < hi; i++ {
		at, v := s.at[s.index(i)], s.volts[s.index(i)]
		if (i-lo)%each == 0 {
			cols = append(cols, Column{at, v, v})
			continue
		}
		c := &cols[len(cols)-1]
		c.Low, c.High = min(c.Low, v), max(c.High, v)
	}
	return cols
}
