package main

import (
	"io"

	"linewitness/cmd/linewitness/internal/output"
	"linewitness/decode/check"
)

// listChecks prints the checks a person can make: id, what to do, and the values a reading may have.
func listChecks(w io.Writer) error {
	all := check.All()
	if history, ok := check.Find(check.History); ok {
		all = append([]check.Check{history}, all...)
	}
	if err := output.WriteChecks(w, all); err != nil {
		return &outputError{err}
	}
	return nil
}
