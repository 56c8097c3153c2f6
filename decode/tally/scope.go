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

// Add takes a block's samples.
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

// columns are the volts in [from, to], thinned to mostColumns; empty where they are not remembered.
func (s *Scope) columns(from, to capture.Tick) (cols []Column) {
	n := s.len()
	lo := sort.Search(n, func(i int) bool { return s.at[s.index(i)] >= from })
	hi := sort.Search(n, func(i int) bool { return s.at[s.index(i)] > to })
	if lo == 0 && s.full {
		return nil // its beginning is forgotten
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
