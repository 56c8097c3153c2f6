// Package tally keeps what figures need of a recording of any length: a bounded number of excerpts of raw transitions
// around what was found, and around good traffic to compare with.
package tally

import (
	"linewitness/capture"
	"linewitness/decode/link"
	"linewitness/decode/uart"
)

// Excerpt is a short stretch of the line, raw and decoded. Everything in it is a copy.
type Excerpt struct {
	What     string // what was found here: "checksum wrong", "a good poll and its reply"
	Good     bool   // shown for comparison
	Like     int    // of what was found: place in the list, from 1, of a good frame of the same sender and kind; 0: there is none
	From     capture.Tick
	To       capture.Tick
	First    capture.Level
	Line     capture.Transitions
	Volts    []Column     // empty: only levels are known
	Usual    [4]float64   // volts at which the levels usually stand, by level, where Line is not given
	Frames   []link.Frame // with their characters
	Glitches []uart.Glitch
	Notes    []Note // instants worth a mark on the figure
}

// Column is what the volts did from At to the next Column's: their lowest and highest value.
type Column struct {
	At        capture.Tick
	Low, High float64
}

// Note is an instant with a word to it.
type Note struct {
	At    capture.Tick
	Label string
}
