//go:build race

package wav_test

// shortBytes is the shorter recording of the memory test; the race detector makes everything many times slower.
const shortBytes = 64 << 10

// longSamples is the length of the recordings that are read in blocks of every size.
const longSamples = 500
