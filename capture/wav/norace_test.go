//go:build !race

package wav_test

// shortBytes is the shorter recording of the memory test.
const shortBytes = 1 << 20

// longSamples is the length of the recordings that are read in blocks of every size.
const longSamples = 4100
