//go:build !race

package decode_test

const raceEnabled = false
