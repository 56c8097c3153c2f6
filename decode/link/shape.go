package link

import (
	"linewitness/capture"
	"linewitness/decode/checksum"
)

// Length is a character that says how long its frame is. Places and lengths count octets with the coding taken off, as in a
// Shape; its value is its low octet.
type Length struct {
	At     int // its place in the frame, behind break and start mark
	Counts Counts
	Add    int // what must be added to its value besides
}

// Counts is what a length character counts.
type Counts uint8

// CountsAll: the whole frame; CountsRest: what follows the length character; CountsPayload: what stands between it and
// the checksum or, where none is placed from the end, the end mark.
const (
	CountsAll Counts = iota
	CountsRest
	CountsPayload
)

var countsNames = [...]string{"all", "rest", "payload"}

func (c Counts) String() string { return countsNames[c] }

// Coding is how octets stand between a frame's marks where not every octet may.
type Coding uint8

// CodingPlain: as they are. CodingEscape: see Escape. CodingHex: as two hexadecimal digits each, high one first, upper
// case (Modbus over Serial Line V1.02, clause 2.5.2, sends so).
const (
	CodingPlain Coding = iota
	CodingEscape
	CodingHex
)

// Escape stands before an octet that would look like a mark or like itself; that octet follows, exclusive or Xor.
type Escape struct{ Mark, Xor byte }

// Shape is a kind of frame. Places in it count octets of the frame with its coding taken off (marks are one octet a
// character), from its start, negative ones from its end.
type Shape struct {
	Name     string
	From     capture.Side // who sends it; SideUnknown: either
	Match    []Match      // by these octets it is known
	Length   int          // octets; 0: any
	Answers  []string     // names of the shapes that may answer it; none: it asks nothing
	Start    bool         // sent only after a unit has started
	Fields   []Field
	Constant []byte // octets that composing begins with, see Compose; shorter than Length: the rest is 0
}

// Match is an octet that a shape must have: octet AND Mask = Value.
type Match struct {
	At          int
	Mask, Value byte
}

// Field is a number in a frame. Octets holds how many octets it is read from, 1 to 8, in Order; of these, Bits bits from
// Bit (0 is the lowest) on.
type Field struct {
	Name          string
	At            int
	Octets        int
	Order         checksum.Order
	Bit, Bits     int
	Signed        bool    // two's complement
	Scale, Offset float64 // value = number * Scale + Offset; Scale 0: 1
	Unit          string
	Names         []Named // of single numbers (an enumeration); with Flags of single bits, Number is then the bit
	Flags         bool
	Curve         *Thermistor // number -> degC, instead of Scale and Offset
	Counter       bool        // goes up by one a frame, from 0 at the unit's start
}

// Named gives a number a name.
type Named struct {
	Number int64
	Name   string
}

// Thermistor turns the number of a divider's voltage into a temperature: number/Full is the share of the divider's supply
// across the thermistor (Pull from it to the supply) or, with PullDown, across the fixed resistor.
// The curve is R25 exp(Beta (1/T - 1/298.15 K)), or points of a table joined straight in ln R over 1/T.
type Thermistor struct {
	R25, Beta float64 // ohm, K
	Points    []Point // rising in temperature, instead of R25 and Beta
	Pull      float64 // ohm of the fixed resistor
	Full      float64 // number at full supply
	PullDown  bool
}

// Point is one of a resistance table.
type Point struct{ DegC, Ohm float64 }

// Address says which octet names a unit, and how the units are called.
type Address struct {
	At    int // place of the octet
	Names []Unit
}

// Unit is a talker with an address.
type Unit struct {
	Value byte
	Name  string
	Side  capture.Side
}
