package validate

import "linewitness/capture"

// Piece is a run of settled samples of a line in one state, in order of time: none of an edge, none across a gap. Its
// slices belong to the block that they were cut from.
type Piece struct {
	Level capture.Level
	At    []capture.Tick
	Volts []float64 // V; A at a loop-current tap
}
