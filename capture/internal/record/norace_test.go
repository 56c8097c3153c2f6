//go:build !race

package record_test

// growth is what slices.Grow takes, relative to what it gives.
const growth = 1
