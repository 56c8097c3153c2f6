package rows

import (
	"fmt"

	"linewitness/capture"
)

// Says lists in words what is left out by a format that tells the lost intervals of those reasons apart.
func (l *Left) Says(kept ...capture.GapWhy) []string {
	var reasons int64
	for why, n := range l.Gaps {
		reasons += n
		for _, k := range append(kept, capture.GapUnknown) {
			if capture.GapWhy(why) == k {
				reasons -= n
				break
			}
		}
	}
	var said []string
	for _, c := range []struct {
		n                   int64
		before, what, after string
	}{
		{l.Doubts, "the doubt of ", "transition", ""},
		{reasons, "the reason of ", "lost interval", ", unknown when read"},
		{l.Counts, "the number of transitions lost in ", "interval", ""},
		{l.Dropped, "", "value", " at the very start of a lost interval"},
		{l.Unmeasured, "the cover of ", "transition", " before the first sample, lost when read"},
	} {
		if c.n > 0 {
			said = append(said, c.before+Counted(c.n, c.what)+c.after)
		}
	}
	return said
}

// Counted is a number and what is counted.
func Counted(n int64, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
