package main

import "linewitness/capture"

// tapFlag is a tap as an option's argument.
type tapFlag struct{ tap *capture.Tap }

func (f tapFlag) String() string {
	if f.tap == nil || *f.tap == capture.TapUnknown {
		return ""
	}
	return f.tap.String()
}

func (f tapFlag) Set(name string) (err error) {
	*f.tap, err = capture.ParseTap(name)
	return err
}

func (f tapFlag) Type() string { return "TAP" }
