// Package slicer turns volts into levels: two or three, each transition with the interval that holds its true instant.
//
//	window of samples -> levels learned from plateaus -> tracked level and state -> transitions
//
// Levels are learned from the first windows that hold jumps, from plateaus between the jumps; what comes before is handed on with an
// unknown level. Then each level follows the samples that rest on it, and the others move along as the circuit has
// it: with the supply in a loop, by the same amount on an AC-coupled input. A transition is the passage of the
// midpoint between two levels, confirmed beyond it. Windows are counted in samples from the recording's start or the last gap, so
// the blocks of the input have no influence. Memory is bounded: some 130 windows while levels are learned, two afterwards.
//
// Limits: levels closer than six standard deviations of the noise are one level. A level that was not seen is said
// to be NaN, never guessed.
package slicer
