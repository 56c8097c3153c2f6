//go:build race

package linkfile_test

// hostileBytes is the size of the hostile files; the race detector makes the scanner many times slower.
const hostileBytes = 16 << 10
