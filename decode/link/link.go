// Package link describes what two units speak: electrical kind, speed, character format, framing, checksum and
// timing; and it cuts characters into frames by that description.
package link

import (
	"fmt"
	"strings"

	"linewitness/capture"
	"linewitness/decode/checksum"
	"linewitness/decode/uart"
)

// Kind is the electrical kind of a link.
type Kind uint8

// The kinds. Loop3: L, N and S, a current loop returned through N. TwoWire is contract.md's `pair`.
const (
	KindUnknown Kind = iota
	Loop3
	TwoWire
	Logic
)

var kindNames = [...]string{"unknown", "loop3", "pair", "logic"}

func (k Kind) String() string {
	if int(k) < len(kindNames) {
		return kindNames[k]
	}
	return fmt.Sprintf("kind %d", uint8(k))
}

// Framing says how characters become frames. Gap alone cuts at silences; Modbus adds the request and reply shapes of
// the Modbus application protocol.
type Framing struct {
	Gap    float64 // silence that ends a frame, in seconds; 0: unknown
	Inside float64 // longest silence allowed inside a frame, in seconds; 0: no rule
	Fixed  int     // every frame has this many characters; 0: any
	Modbus bool

	Length     *Length  // nil: no character says how long the frame is
	Start, End []uint16 // marks, characters as they stand on the line; empty: none
	After      int      // characters behind the end mark that still belong to the frame
	Break      bool     // a frame begins with a break; it is a character of value 0, before Start
	Coding     Coding
	Escape     Escape
}

// String is contract.md's form: `fixed 12`, `length at=1 counts=rest`, `marks start=AA55 end=16`, `gap`, joined by "; ".
// Characters of more than eight bits are four digits.
func (f Framing) String() string {
	parts := []string{}
	if f.Fixed > 0 {
		parts = append(parts, fmt.Sprintf("fixed %d", f.Fixed))
	}
	if f.Length != nil {
		parts = append(parts, fmt.Sprintf("length at=%d counts=%v", f.Length.At, f.Length.Counts))
	}
	if len(f.Start)+len(f.End) > 0 {
		marks := "marks"
		for _, m := range []struct {
			name string
			of   []uint16
		}{{"start", f.Start}, {"end", f.End}} {
			if len(m.of) > 0 {
				marks += " " + m.name + "=" + hexOf(m.of)
			}
		}
		parts = append(parts, marks)
	}
	if f.Gap > 0 {
		parts = append(parts, "gap")
	}
	if len(parts) == 0 {
		return "unknown"
	}
	return strings.Join(parts, "; ")
}

func hexOf(characters []uint16) (s string) {
	digits := 2
	for _, c := range characters {
		if c > 0xFF {
			digits = 4
		}
	}
	for _, c := range characters {
		s += fmt.Sprintf("%0*X", digits, c)
	}
	return s
}

// head is how many characters stand before a frame's content: the break and the start mark. tail is how many stand at its
// end as they are: the end mark and those behind it.
func (f *Framing) head() int {
	if f.Break {
		return 1 + len(f.Start)
	}
	return len(f.Start)
}

func (f *Framing) tail() int { return len(f.End) + f.After }

// Timing is the dialogue's: who polls, how often, and how soon a reply begins. Seconds; 0: unknown.
type Timing struct {
	PollPeriod    float64 // from poll to poll
	TurnaroundMin float64 // no reply begins sooner
	TurnaroundMax float64 // a reply that begins later is late; learned: what parts replies from polls
	TwoTalkers    bool    // polls are answered: silence after a poll is a missing reply
	Retries       int     // polls sent again after no good reply; -1 or 0: none
	RetryAfter    float64 // from a poll's end to its repetition
	SlowPeriod    float64 // poll period after too many misses, and while units sleep
	SlowAfter     float64 // silence of the other side after which polls come slowly
	FaultAfter    float64 // silence of the other side after which a unit shows a communication fault
}

// Profile is a link's description. Checksum nil: not known, or known to be none (then NoChecksum).
type Profile struct {
	Name       string
	Kind       Kind
	Line       uart.Line // its Speed is the nominal one
	Measured   float64   // speed of the traffic the link was learned from, Bd; 0: none
	Framing    Framing
	Checksum   *checksum.Spec
	NoChecksum bool
	Timing     Timing
	Controller capture.Side
	Responder  capture.Side
	Learned    bool

	Spaces uart.Spaces  // of a line with three levels, those that are space; 0: two levels
	Either bool         // a burst that breaks the format is read the other way round too: a pair's conductors may be swapped
	Feed   capture.Side // the unit that makes the loop supply; SideUnknown: no loop
	// FeedAssumed: nothing says which unit feeds; most often it is the outdoor one (common practice, no source).
	FeedAssumed bool
	Equivalent  []string // what the data cannot tell apart

	Note     string   // what its author says of it
	Invented bool     // no real link
	Supply   Supply   // of a loop
	Shapes   []Shape  // kinds of frames; none: any content
	Address  *Address // nil: frames carry none
}

// Supply is a loop's supply as a profile describes it.
type Supply struct {
	Volts     float64 // signed; 0: not known
	HalfWave  bool    // not smoothed
	Reference string  // conductor that the loop returns through, "N"
}

// SideOf is the side that a level of space names: the feeding unit opens to the level near 0, the other one to the supply.
func (p *Profile) SideOf(space capture.Level) capture.Side {
	other := capture.SideUnknown
	switch p.Feed {
	case capture.Outdoor:
		other = capture.Indoor
	case capture.Indoor:
		other = capture.Outdoor
	}
	switch {
	case !p.Line.Mid:
	case space == capture.Low:
		return p.Feed
	case space == capture.High:
		return other
	}
	return capture.SideUnknown
}

// Why is the set of rules that a frame broke.
type Why uint8

// The rules. Unframed: a burst that has not the shape of a frame. Cut is not a fault: the recording begins, ends or
// has a gap inside the frame, so that it proves nothing.
const (
	WhyChecksum Why = 1 << iota
	WhyParity
	WhyStop
	WhyLength
	WhyTiming
	WhyUnframed
	WhyCut
)

var whyNames = [...]string{"checksum", "parity", "stop", "length", "timing", "unframed", "cut"}

// Names lists the broken rules in contract.md's words.
func (w Why) Names() []string {
	names := []string{}
	for i, n := range whyNames {
		if w&(1<<i) != 0 {
			names = append(names, n)
		}
	}
	return names
}

// Speed is the speed to decode at: the measured one where there is one.
func (p *Profile) Speed() float64 {
	if p.Measured > 0 {
		return p.Measured
	}
	return p.Line.Speed
}

// Frame is a run of characters that belong together. Its slices belong to whoever made the frame: copy what you keep.
type Frame struct {
	At, End    capture.Tick // first edge of the first start bit; nominal end of the last stop bit
	Side       capture.Side
	Poll       bool // asked, rather than answered; only where the dialogue tells
	Why        Why
	Turnaround capture.Tick // from the poll's End to At; carried by a reply; -1: none
	Values     []uint16     // one a character, as they stand on the line
	Octets     []byte       // with the coding taken off: what checksum, shapes and fields see; marks are one octet a character
	Shape      int          // index into the profile's Shapes; -1: none fits
	Chars      []uart.Character
	DataBits   uint8         // of its characters
	Begins     bool          // nothing is known of the time just before it
	Space      capture.Level // of its characters' start elements
}

// OK tells whether the frame is whole and breaks no rule.
func (f *Frame) OK() bool { return f.Why == 0 }
