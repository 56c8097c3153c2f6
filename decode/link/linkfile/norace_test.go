//go:build !race

package linkfile_test

// hostileBytes is the size of the hostile files, just what a reader takes.
const hostileBytes = 1 << 20
