package main

import (
	"io"

	"linewitness/cmd/linewitness/internal/output"
	"linewitness/decode/check"
)

// listChecks prints the checks a person can make: id, what to do, and the values a reading may have.
func listChecks(w io.Writer) error {
	if err := output.WriteChecks(w, check.All()); err != nil {
		return &outputError{err}
	}
	return nil
}
