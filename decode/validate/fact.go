package validate

import "linewitness/capture"

// Fact is one measured quantity of a recording, as the verdict and people read it.
type Fact struct {
	ID    string // stable: group and quantity, such as "time.bias-trend"
	Side  capture.Side
	Value float64 // in Unit; NaN: nothing was measured
	// Low and High are the ends of its 95 % interval; NaN where it has none.
	Low, High float64
	Unit      string  // "" a ratio or a count
	N         int64   // what it rests on: edges, frames, episodes
	Times     Times   // where it showed
	P         float64 // chance of a value so far out on a sound line, NaN where no test says; small: unlike a sound line
	// Unmeasured says why this tap or recording cannot tell it; "" where it can.
	Unmeasured string
}

// Measured tells whether the recording can tell it at all.
func (f *Fact) Measured() bool { return f.Unmeasured == "" }
