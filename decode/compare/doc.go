// Package compare sets two recordings of one signal line beside each other. It takes figures and compact frames, and
// computes; it opens nothing and prints nothing.
//
//	Align   two taps at once: frames of equal content -> which instant of one axis is which of the other
//	Losses  what left one end and did not arrive at the other, what both ends show alike, what was never answered
//	Changes before and after: every figure with its test, corrected for how many there are
//
// An alignment is found from content and from gaps between frames, never from wall clocks: those of two recorders differ
// by seconds. Content alone may be equal on two occasions, as polls are; what makes an alignment believed is that the
// units' own wavering in time is the same in both recordings (see Alignment.Chance).
//
// Limits: clocks differ by at most 500 ppm; fewer than 8 whole frames in common are not aligned. Memory grows with the
// frames handed in, some 100 bytes each while it works.
package compare
