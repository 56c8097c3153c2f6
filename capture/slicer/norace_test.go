//go:build !race

package slicer_test

// silentTens is the silence before the first word, in tens of seconds: an hour.
const silentTens = 360
