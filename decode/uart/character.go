package uart

import "linewitness/capture"

// Fault says which rule of the character format was broken.
type Fault uint8

// The faults, a set.
const (
	FaultParity Fault = 1 << iota // parity bit wrong
	FaultStop                     // space where the stop element belongs
	FaultBreak                    // space from the start bit through the stop element (ITU-T V.14 calls it break)
	FaultCut                      // the recording begins or ends, or has a gap, inside the character
	FaultGlitch                   // one or more pulses too short for a bit were ignored inside it
)

// Character is one start-stop character with its signal quality. Distortions are fractions of the unit interval at
// the nominal speed, measured from the start edge (FED-STD-1037C: degree of start-stop distortion); late is positive.
type Character struct {
	At    capture.Tick // start edge
	End   capture.Tick // nominal end of the stop element
	Value uint16       // data bits, first sent is lowest
	Fault Fault
	Space capture.Level // the level of its start element: of three, it tells who sends
	Edges uint8         // edges after the start edge that were measured
	Late  float32       // latest edge, >= 0
	Early float32       // earliest edge, <= 0
	Bias  float32       // marks lengthened: positive; NaN where the character has too few edges to tell
}

// Distortion is the degree of start-stop distortion: the larger of late and early, signed.
func (c *Character) Distortion() float32 {
	if -c.Early > c.Late {
		return c.Early
	}
	return c.Late
}

// Isochronous is the degree of isochronous distortion within the character: largest minus smallest displacement.
func (c *Character) Isochronous() float32 { return c.Late - c.Early }

// Margin is what is left to a receiver that samples in the middle of each bit, as a fraction of the unit interval.
func (c *Character) Margin() float32 {
	d := c.Distortion()
	if d < 0 {
		d = -d
	}
	return 0.5 - d
}

// Glitch is a pulse too short to be a bit.
type Glitch struct {
	At    capture.Tick
	Width capture.Tick
	Mark  bool // a mark inside a space; false: a space inside a mark
	Idle  bool // outside every character
}
