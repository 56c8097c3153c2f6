//go:build !race

package vcd

// shortBytes is the shorter recording of the memory test.
const shortBytes = 1 << 20
