package uart

import (
	"fmt"
	"strings"

	"linewitness/capture"
)

// Parity is the rule of the bit after the data bits: none, even, odd, mark (always 1) or space (always 0).
type Parity uint8

// The parities.
const (
	ParityNone Parity = iota
	ParityEven
	ParityOdd
	ParityMark
	ParitySpace
)

const parityLetters = "NEOMS"

func (p Parity) String() string {
	if int(p) < len(parityLetters) {
		return parityLetters[p : p+1]
	}
	return fmt.Sprintf("parity %d", uint8(p))
}

// Format is a character format: 5 to 9 data bits, parity, and the stop element in half bits (2, 3 or 4 for 1, 1.5
// and 2 stop bits).
type Format struct {
	DataBits  uint8
	Parity    Parity
	StopHalfs uint8
}

// Bits is the length of a character in bits up to the beginning of the stop element, start bit included.
func (f Format) Bits() int {
	n := 1 + int(f.DataBits)
	if f.Parity != ParityNone {
		n++
	}
	return n
}

// Length is the nominal length of a character in bits, stop element included.
func (f Format) Length() float64 { return float64(f.Bits()) + float64(f.StopHalfs)/2 }

// Valid tells whether the format is one this room can read.
func (f Format) Valid() bool {
	return f.DataBits >= 5 && f.DataBits <= 9 && f.Parity <= ParitySpace && f.StopHalfs >= 2 && f.StopHalfs <= 4
}

// String is the usual short form: 8E1, 8N2, 5N1.5.
func (f Format) String() string {
	stop := fmt.Sprint(f.StopHalfs / 2)
	if f.StopHalfs%2 == 1 {
		stop += ".5"
	}
	return fmt.Sprintf("%d%s%s", f.DataBits, f.Parity, stop)
}

// ParseFormat reads the short form.
func ParseFormat(s string) (Format, error) {
	bad := fmt.Errorf("character format: expected data bits 5..9, parity N E O M or S, stop bits 1, 1.5 or 2 (such as 8E1), found %q", s)
	if len(s) < 3 || s[0] < '5' || s[0] > '9' {
		return Format{}, bad
	}
	p := strings.IndexByte(parityLetters, s[1])
	halfs, ok := map[string]uint8{"1": 2, "1.5": 3, "2": 4}[s[2:]]
	if p < 0 || !ok {
		return Format{}, bad
	}
	return Format{DataBits: s[0] - '0', Parity: Parity(p), StopHalfs: halfs}, nil
}

// Line is how a start-stop line is read: speed in Bd, character format, and which level is mark. Inverted false: high (or
// current) is mark. Mid: the line has three levels, mark is the middle one, and both others are space.
type Line struct {
	Speed    float64
	Format   Format
	Inverted bool
	Mid      bool
}

// Mark is the level that stands for mark.
func (l Line) Mark() capture.Level {
	switch {
	case l.Mid:
		return capture.Mid
	case l.Inverted:
		return capture.Low
	}
	return capture.High
}
