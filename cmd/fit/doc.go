// Command fit measures the verdict on staged recordings, whose truth is known: it stages lines from seeds, examines each, and
// holds the answer against what is wrong and against what nobody could exclude from that tap.
//
//	go run ./cmd/fit            the scores of 500 lines
//	go run ./cmd/fit --help     all options
package main
