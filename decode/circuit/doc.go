// Package circuit is the steady state of a signal line with one fault, in closed form: what a hand meter would read between any two
// conductors at either unit, with S connected or lifted.
//
// The line is the loop of L, N and S: one unit makes a supply, its current flows through both units' receivers, senders and resistors
// and returns through N. For each state of the two senders the loop is two nodes, S at either unit, with at most one source, one sink
// and what leaks or shorts; that is solved exactly. A hand meter averages over some tenths of a second, so what it shows of a talking
// line is a range of averages. Mains volts are added as the amplitudes that reach a conductor; they are in phase with L.
//
// Draws holds lines with parameters drawn as wide as such lines are built. Which of them a recording has made likely, Weigh says: a
// reading that a recording has shown already is then foretold alike by all causes, and tells nothing.
package circuit

import "fmt"

// Conductor is a conductor of the cable.
type Conductor uint8

// The conductors of a loop (IEC 60445): live, neutral, signal, protective earth.
const (
	NoConductor Conductor = iota
	L
	N
	S
	PE
)

var conductorNames = [...]string{"", "L", "N", "S", "PE"}

func (c Conductor) String() string { return conductorNames[c] }

// ParseConductor finds a conductor by its name.
func ParseConductor(name string) (Conductor, error) {
	for c, n := range conductorNames {
		if n == name && n != "" {
			return Conductor(c), nil
		}
	}
	return NoConductor, fmt.Errorf("expected a conductor L, N, S or PE, found %q", name)
}

// Place is where something is measured or lifted.
type Place uint8

// The places: a unit's terminals; Between is the cable itself, or not known at which of the two.
const (
	Between Place = iota
	Indoor
	Outdoor
)

var placeNames = [...]string{"line", "indoor", "outdoor"}

func (p Place) String() string { return placeNames[p] }

// ParsePlace finds a place by its name.
func ParsePlace(name string) (Place, error) {
	for p, n := range placeNames {
		if n == name {
			return Place(p), nil
		}
	}
	return Between, fmt.Errorf("expected a place indoor, outdoor or line, found %q", name)
}

// other is the unit across the line.
func (p Place) other() Place { return Indoor + Outdoor - p }

// Meter is the input of a hand meter.
type Meter uint8

// The inputs: 10 megohms, as most have, and a low-impedance range.
const (
	TenMeg Meter = iota
	LowZ
)

// ohms of a meter's input. A low-impedance range has some hundred kilohms: common practice, no source.
func (m Meter) ohms() float64 {
	if m == LowZ {
		return 300e3
	}
	return 10e6
}

// Quantity is what a meter is put to: volts from one conductor to another at a unit, with S connected or lifted off a unit's terminal.
// At the unit where it is lifted, S is the bare terminal; the wire is seen at the other unit.
type Quantity struct {
	From, To Conductor
	At       Place
	Lifted   Place // Between: S is connected
	Meter    Meter
}

// Range is what a meter's figure moves over. Low is Low <= High.
type Range struct{ Low, High float64 }

// Mid is the middle of the range.
func (r Range) Mid() float64 { return (r.Low + r.High) / 2 }

func (r *Range) take(v float64) {
	r.Low, r.High = min(r.Low, v), max(r.High, v)
}

// Swings tells whether a person sees the figure move: by more than 2 % and 0.2 V.
func (r Range) Swings() bool {
	return r.High-r.Low > 0.2+0.02*max(r.High, -r.Low)
}

// Shown is what a meter shows of a quantity on its DC and on its AC range, in volts.
type Shown struct{ DC, AC Range }
