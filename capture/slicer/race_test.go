//go:build race

package slicer_test

// silentTens is the silence before the first word, in tens of seconds; the race detector makes everything many times slower.
const silentTens = 12
