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
// A loop's open states are held towards mark only; what couples in from L may carry them off the other way. So mark is
// looked for first, as the place where the line rests for most of the time, an outer level is where the line comes to on its side
// of mark, and what lies beyond is that level too and moves no other. Of a pair the hum, which is alike in all states, is learned
// while the line rests and taken off. Of a supply that lives in every other half cycle only the lit samples count; the dark ones
// keep the last of them, and a transition in the dark has half of it as its doubt. There an outer level is the innermost place that stays
// came to, since all but the first lit part after an opening stand further out.
//
// Limits: levels closer than six standard deviations of the noise are one level. A level that was not seen is said
// to be NaN, never guessed.
package slicer
