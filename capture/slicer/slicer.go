// Package slicer turns volts into levels: two or three, each transition with the interval that holds its true instant.
package slicer

import "linewitness/capture"

// Kind is the electrical kind of what is sliced.
type Kind uint8

// The kinds. Loop: volts from S to N of a three-level current loop; Current: amperes of a loop; Pair: differential volts
// of two signal conductors; Pin: a logic pin of a board.
const (
	KindUnknown Kind = iota
	Loop
	Current
	Pair
	Pin
)

// Options of New. The zero value infers the kind.
type Options struct {
	Kind      Kind
	FullScale float64 // volts (amperes) at which the recorder clips; 0: not known
}

// Found is what is known of the levels at present. Values are NaN where a level was not seen.
type Found struct {
	Kind           Kind
	Levels         int     // 0: none yet; 1: constant; 2 or 3
	Low, Mid, High float64 // V
	Noise          float64 // V, standard deviation about a level
	Negative       bool    // the supply is negative: High is the most negative
	Coupled        bool    // the input is AC-coupled: values of levels say nothing
	Mains          bool    // nothing but mains
	Clipped        int64   // samples at full scale
	Spacing        capture.Tick
	Uniform        bool // samples stand at even distances
}

// Slicer takes blocks with samples and gives blocks with transitions too.
type Slicer struct{}

// New makes a slicer.
func New(c capture.Clock, opt Options) *Slicer { return &Slicer{} }

// Add takes the next block, which it does not keep, and hands to emit what is decided.
func (s *Slicer) Add(b *capture.Block, emit func(*capture.Block) error) error { return emit(b) }

// Flush ends the recording.
func (s *Slicer) Flush(emit func(*capture.Block) error) error { return nil }

// Found is what is known so far.
func (s *Slicer) Found() Found { return Found{} }
