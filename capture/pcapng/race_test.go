//go:build race

package pcapng_test

const raceEnabled = true
