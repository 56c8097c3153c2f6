//go:build race

package vcd

// shortBytes is the shorter recording of the memory test; the race detector makes everything many times slower.
const shortBytes = 32 << 10
