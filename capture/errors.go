package capture

import (
	"fmt"
	"strings"
)

// FormatError blames a file: where, what was expected there, what was found. Text formats count lines and columns
// from 1, binary ones bytes from 0; a zero Line means that Offset holds the place.
type FormatError struct {
	Name         string
	Line, Column int64
	Offset       int64
	Time         string // "1.25 s", empty while no time is known
	Expected     string
	Found        string
	Err          error // cause, may be nil
}

func (e *FormatError) Error() string {
	var b strings.Builder
	b.WriteString(e.Name)
	switch {
	case e.Line > 0 && e.Column > 0:
		fmt.Fprintf(&b, ":%d:%d", e.Line, e.Column)
	case e.Line > 0:
		fmt.Fprintf(&b, ":%d", e.Line)
	default:
		fmt.Fprintf(&b, ": byte %d", e.Offset)
	}
	b.WriteString(": ")
	if e.Time != "" {
		fmt.Fprintf(&b, "at %s: ", e.Time)
	}
	fmt.Fprintf(&b, "expected %s, found %s", e.Expected, e.Found)
	if e.Err != nil {
		fmt.Fprintf(&b, ": %v", e.Err)
	}
	return b.String()
}

func (e *FormatError) Unwrap() error { return e.Err }

// UnsupportedError blames this program: the file may well be right.
type UnsupportedError struct {
	Name string
	What string
}

func (e *UnsupportedError) Error() string { return e.Name + ": not supported: " + e.What }

// Quote shows found bytes in an error, shortened: a megabyte identifier must not become a megabyte message.
func Quote(s []byte) string {
	const most = 40
	if len(s) > most {
		return fmt.Sprintf("%q... (%d bytes)", s[:most], len(s))
	}
	return fmt.Sprintf("%q", s)
}
