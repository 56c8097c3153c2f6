//go:build race

package slicer_test

// silentTens is the silence before the first word, in tens of seconds; the race detector makes everything many times slower.
const silentTens = 12

// doubtRates are the rates at which instants are compared with the truth, samples a second.
var doubtRates = []int{20_000}
