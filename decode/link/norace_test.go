//go:build !race

package link_test

const raced = false
