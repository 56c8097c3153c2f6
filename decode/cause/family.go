package cause

import "fmt"

// Family is the kind of thing that is wrong. It says who comes with which tool: wiring is re-terminated or drawn anew,
// a board is replaced, a setting is changed.
type Family uint8

// The families. FamilyUnknown, the zero value, belongs to the undetermined verdict and never to a candidate.
const (
	FamilyUnknown Family = iota
	Sound
	Wiring
	Board
	Setup
	Other
)

var familyNames = [...]string{"unknown", "sound", "wiring", "board", "setup", "other"}

func (f Family) String() string {
	if int(f) < len(familyNames) {
		return familyNames[f]
	}
	return fmt.Sprintf("family %d", uint8(f))
}
