//go:build race

package record_test

// growth is what slices.Grow takes, relative to what it gives: the race detector keeps it from growing in place of append.
const growth = 2
