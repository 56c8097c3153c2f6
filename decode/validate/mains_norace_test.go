//go:build !race

package validate_test

const mainsLess = 1
