// Package verdict turns facts into candidates with probabilities, a verdict, and what the recording clears.
package verdict

import (
	"linewitness/capture"
	"linewitness/decode/cause"
)

// Key names a candidate: a cause at a side.
type Key struct {
	Cause cause.Cause
	Side  capture.Side
}

func (k Key) String() string { return k.Cause.String() + "/" + k.Side.String() }

// Candidate is a (cause, side) with its probability. PriorBits is log2 of its prior odds against sound.
type Candidate struct {
	Key
	Probability float64
	PriorBits   float64
}

// Evidence is a fact that moves probabilities. Bits is log2 of the likelihood ratio against sound, by candidate; a
// candidate that is not named has 0.
type Evidence struct {
	ID        string
	Says      string
	Value     float64
	Low, High float64 // 95 % interval; NaN: not known
	Unit      string
	At        []capture.Tick // first 20, ascending
	Bits      map[Key]float64
}

// Cleared is what the recording proves sound.
type Cleared struct{ What, Because string }

// Verdict is the answer. Empty Conductor, Variant and Place: not known. Explains is a share in per cent, NaN: not
// known.
type Verdict struct {
	Key
	Family                    cause.Family
	Undetermined              bool
	Conductor, Variant, Place string
	Probability               float64
	Explains                  float64
	ExplainsLow, ExplainsHigh float64 // 95 % interval of it
	Summary                   string
}
