package main

import (
	"strings"

	"linewitness/decode/check"
)

// readingsFlag collects readings by hand, one an option.
type readingsFlag struct{ all *[]check.Reading }

func (f readingsFlag) String() string {
	if f.all == nil {
		return ""
	}
	var texts []string
	for _, r := range *f.all {
		texts = append(texts, r.String())
	}
	return strings.Join(texts, " ")
}

func (f readingsFlag) Set(text string) error {
	r, err := check.ParseReading(text)
	if err == nil {
		*f.all = append(*f.all, r)
	}
	return err
}

func (f readingsFlag) Type() string { return "CHECK=VALUE" }
