package capture

import "fmt"

// Level is what stands on the line. A three-level line at a terminal has Mid; two-level taps use Low and High only.
type Level uint8

// The levels. Unknown is the zero value: nothing is known yet.
const (
	Unknown Level = iota
	Low
	Mid
	High
)

var levelNames = [...]string{"unknown", "low", "mid", "high"}

func (l Level) String() string {
	if int(l) < len(levelNames) {
		return levelNames[l]
	}
	return fmt.Sprintf("level %d", uint8(l))
}

// Side is who a frame came from, or where a fault sits.
type Side uint8

// The sides. A and B stand where a tap shows two talkers but not which unit is which.
const (
	SideUnknown Side = iota
	Indoor
	Outdoor
	Line
	None
	SideA
	SideB
)

var sideNames = [...]string{"unknown", "indoor", "outdoor", "line", "none", "a", "b"}

func (s Side) String() string {
	if int(s) < len(sideNames) {
		return sideNames[s]
	}
	return fmt.Sprintf("side %d", uint8(s))
}

// Tap is where the probe sits.
type Tap uint8

// The taps. TapUnknown: not said and not inferred.
const (
	TapUnknown Tap = iota
	IndoorTerminal
	OutdoorTerminal
	LoopCurrent
	BoardPin
	Pair
)

var tapNames = [...]string{"unknown", "indoor-terminal", "outdoor-terminal", "loop-current", "board-pin", "pair"}

func (t Tap) String() string {
	if int(t) < len(tapNames) {
		return tapNames[t]
	}
	return fmt.Sprintf("tap %d", uint8(t))
}

// ParseTap is the tap of that name.
func ParseTap(name string) (Tap, error) {
	for i, n := range tapNames {
		if i > 0 && n == name {
			return Tap(i), nil
		}
	}
	return TapUnknown, fmt.Errorf("tap: expected indoor-terminal, outdoor-terminal, loop-current, board-pin or pair, found %q", name)
}

// TapNames lists the taps' names in order.
func TapNames() []string { return append([]string(nil), tapNames[1:]...) }
