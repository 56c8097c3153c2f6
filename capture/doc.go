// Package capture has the words of a recording: what was seen on a signal line, and when.
//
//	Source -> Block -> transitions, samples or octets, each on the recording's own clock
//
// A Source hands out Blocks. A Block covers an interval without a hole; what is missing stands as a Gap just before
// a block, so that lost time can never be joined silently. Levels are only levels here: mark and space are assigned
// later, once the polarity is known.
package capture
