package decode

import (
	"linewitness/capture"
	"linewitness/decode/check"
	"linewitness/decode/link"
)

// Options tune an examination. The zero value is the default.
type Options struct {
	Tap      capture.Tap       // TapUnknown: inferred
	Mains    float64           // nominal frequency of the mains, Hz; 0: found from the recording
	Workers  int               // goroutines that decode; 0: one a core
	Readings []check.Reading   // what somebody read by hand at this line
	Frames   func(*link.Frame) // called for each frame in order of time, unframed bursts too; the frame is valid during the call
}
