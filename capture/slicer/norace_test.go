//go:build !race

package slicer_test

// silentTens is the silence before the first word, in tens of seconds: an hour.
const silentTens = 360

// doubtRates are the rates at which instants are compared with the truth, samples a second.
var doubtRates = []int{20_000, 50_000, 500_000}
