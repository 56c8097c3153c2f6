package output

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"linewitness/capture"
	"linewitness/decode/compare"
)

// figureNames are figures in words.
var figureNames = map[string]string{
	"damaged": "damaged frames", "unanswered": "polls not answered", "turn-around": "turn-around", "speed-error": "speed error", "bias": "bias distortion",
	"isochronous": "isochronous distortion", "short-spaces": "short spaces in idle", "short-marks": "short marks in spaces", "level-low": "level low", "level-mid": "level mid (mark of a loop)",
	"level-high": "level high", "mark-to-high": "mark against high", "noise-low": "noise at low", "noise-mid": "noise at mid", "noise-high": "noise at high",
	"dips": "dips of the loop supply", "spikes": "spikes",
}

func (c *Comparison) changesSay() string {
	x := c.Changes
	switch {
	case x.Tested == 0:
		return "Nothing could be compared."
	case x.N == 0 && x.Few > 0:
		return fmt.Sprintf("Nothing changed that these recordings prove, in %s; but %d differ in a few long runs.", counted(int64(x.Tested), "figure"), x.Few)
	case x.N == 0:
		return fmt.Sprintf("No change that these recordings could show, in %s.", counted(int64(x.Tested), "figure"))
	}
	return fmt.Sprintf("Changed: %d of %s, each tested, all together wrong in at most one comparison of twenty.", x.N, counted(int64(x.Tested), "figure"))
}

// appendChanges lists what changed, what did not and what was not compared; of two taps, what differs between the ends.
func (c *Comparison) appendChanges(b []byte) []byte {
	b = c.appendSome(b, [2]string{"Changed", "Different at the two ends"}, func(x *compare.Change) string {
		if !x.Changed {
			return ""
		}
		return changedSays(x)
	})
	if c.TwoTaps {
		return b // what is the same at both ends is of no interest, the JSON has it
	}
	b = c.appendSome(b, [2]string{"Different, but in too few runs to be sure that it is no chance"}, func(x *compare.Change) string {
		if !x.FewRuns {
			return ""
		}
		return fmt.Sprintf("%s: %s, then %s", changeName(x), figureOf(x, &x.Was), figureOf(x, &x.Is))
	})
	b = c.appendSome(b, [2]string{"No change shown (a smaller one than the last figure would not have been)"}, func(x *compare.Change) string {
		if x.Changed || x.FewRuns || x.NotComparable != "" {
			return ""
		}
		return fmt.Sprintf("%s: %s, then %s; %s", changeName(x), figureOf(x, &x.Was), figureOf(x, &x.Is), unseen(x))
	})
	return c.appendSome(b, [2]string{"Not compared"}, func(x *compare.Change) string {
		if x.NotComparable == "" {
			return ""
		}
		return changeName(x) + ": " + x.NotComparable
	})
}

// appendSome lists the changes of which there is something to say.
func (c *Comparison) appendSome(b []byte, titles [2]string, say func(*compare.Change) string) []byte {
	title := titles[0]
	if c.TwoTaps {
		title = titles[1]
	}
	for i := range c.Changes.All {
		x := &c.Changes.All[i]
		line := say(x)
		if line == "" || c.TwoTaps && (x.ID == "damaged" || x.ID == "unanswered") {
			continue
		}
		if title != "" {
			b = append(b, "\n"+title+":\n"...)
			title = ""
		}
		b = appendWrapped(b, indent, indent+indent, line)
	}
	return b
}

// changedSays is a change with its size.
func changedSays(x *compare.Change) string {
	return fmt.Sprintf("%s: %s, then %s; change %s (%s to %s), p%c%s", changeName(x), figureOf(x, &x.Was), figureOf(x, &x.Is),
		signed(x.Difference.Value, x.Unit), figures(x.Difference.Low), figures(x.Difference.High), tied, small(x.Adjusted))
}

func changeName(x *compare.Change) string {
	name := figureNames[x.ID]
	if name == "" {
		name = x.ID
	}
	if x.Side != capture.SideUnknown {
		name += ", " + x.Side.String()
	}
	return name
}

// figureOf is a figure, and of a share what it is of.
func figureOf(x *compare.Change, f *compare.Figure) string {
	s := unit(figures(f.Value), x.Unit)
	if x.Kind == compare.Proportion {
		s += fmt.Sprintf(" of %d", f.N)
		if f.Runs > 0 {
			s += " in " + unit(strconv.Itoa(f.Runs), "run"+map[bool]string{true: "s"}[f.Runs > 1])
		}
	}
	return s
}

// unseen is the size of a change that would not have been seen.
func unseen(x *compare.Change) string {
	if x.Kind == compare.Proportion && x.Unseen >= 100 {
		return "too few to show any"
	}
	return unit(figures(x.Unseen), x.Unit)
}

func signed(v float64, of string) string {
	if v > 0 {
		return "+" + unit(figures(v), of)
	}
	return unit(figures(v), of)
}

// small is a p to two digits, with an exponent where it is tiny.
func small(p float64) string {
	if math.IsNaN(p) {
		return "unknown"
	}
	if p < 1e-9 {
		return "under 1e-9"
	}
	return strings.Replace(strconv.FormatFloat(p, 'g', 2, 64), "e-0", "e-", 1)
}
