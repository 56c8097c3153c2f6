//go:build race

package link_test

// raced: the race detector allocates by itself, and drops what a pool holds.
const raced = true
