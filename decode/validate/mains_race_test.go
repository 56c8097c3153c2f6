//go:build race

package validate_test

// mainsLess divides lengths and repeats of tests; the race detector makes everything many times slower.
const mainsLess = 8
