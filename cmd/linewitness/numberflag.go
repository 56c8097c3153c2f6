package main

import (
	"fmt"
	"math"
	"strconv"
)

// positive is a flag that takes a finite number above 0.
type positive struct{ v *float64 }

func (f positive) Type() string { return "X" }

func (f positive) String() string {
	if f.v == nil || *f.v == 0 {
		return ""
	}
	return strconv.FormatFloat(*f.v, 'g', -1, 64)
}

func (f positive) Set(s string) error {
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || !(v > 0) || math.IsInf(v, 0) {
		return fmt.Errorf("expected a number above 0 (volts, or amperes), found %q", s)
	}
	*f.v = v
	return nil
}

// mainsFlag is a flag that takes the two nominal frequencies of the mains.
type mainsFlag struct{ v *float64 }

func (f mainsFlag) Type() string { return "HZ" }

func (f mainsFlag) String() string { return positive(f).String() }

func (f mainsFlag) Set(s string) error {
	switch s {
	case "50":
		*f.v = 50
	case "60":
		*f.v = 60
	default:
		return fmt.Errorf("expected 50 or 60, found %q", s)
	}
	return nil
}
