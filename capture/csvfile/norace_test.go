//go:build !race

package csvfile

// shortBytes is the shorter recording of the memory test.
const shortBytes = 1 << 20
