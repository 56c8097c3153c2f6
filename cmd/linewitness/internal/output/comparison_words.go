package output

import (
	"fmt"
	"strings"

	"linewitness/capture"
	"linewitness/decode"
	"linewitness/decode/compare"
)

func (c *Comparison) both() [2]*decode.Finding { return [2]*decode.Finding{c.First, c.Second} }

// endName names a recording's end.
func (c *Comparison) endName(second bool) string {
	if end := c.end(second); end != capture.SideUnknown {
		return end.String() + " end"
	}
	return [2]string{"first", "second"}[map[bool]int{true: 1}[second]] + " end"
}

// summary is what the comparison says, as plain text.
func (c *Comparison) summary() []string {
	all := c.says()
	for i := range c.Changes.All {
		if x := &c.Changes.All[i]; x.Changed && !c.TwoTaps {
			all = append(all, changedSays(x))
		}
	}
	for i := range all {
		all[i] = strings.ReplaceAll(all[i], string(tied), " ")
	}
	return all
}

// says is the answer in sentences.
func (c *Comparison) says() []string {
	switch {
	case !c.TwoTaps:
		return []string{c.changesSay()}
	case c.Losses == nil:
		return []string{"Nothing can be said about what lies between the taps. If the recordings overlap in time, record again for longer, or give the link with --profile; if they do not, say --before-after."}
	}
	says := []string{c.betweenSays()}
	for i := range c.Conclusion.Own {
		if o := &c.Conclusion.Own[i]; o.Shown {
			says = append(says, ownSays(o))
		}
	}
	if c.Conclusion.Polls.Shown {
		says = append(says, c.silentSays())
	}
	return says
}

func (c *Comparison) betweenSays() string {
	x, l := c.Conclusion, c.Losses
	n := fmt.Sprintf("whole at one end and not at the other %s, in %s", shared(x.Share), counted(int64(x.Episodes), "episode"))
	open := ""
	if l.Opposed.N > 0 {
		open = fmt.Sprintf(" At %s each end took the same space for the other unit's", counted(int64(l.Opposed.N), "moment"))
		if x.Opened {
			open += ": the line stood open between them"
		}
		open += "."
	}
	switch x.Between {
	case compare.Shown:
		return "Between the taps: at fault; " + n + "." + open + " Look at the conductors, joints and terminals between the two taps. Whether both units are sound is not shown by that."
	case compare.Mixed:
		return fmt.Sprintf("Between the taps: open; %s, but damaged at both ends in %s. That may be what disturbs the whole line (noise, hum, a supply, a sender), or a loop that opens or loses current anywhere, between the taps or not.%s",
			n, counted(int64(x.Common), "episode"), open)
	case compare.OneEnd:
		return fmt.Sprintf("Between the taps: open; %s. All damage (%s that stand alone too) shows at the %s. It may lie between the taps, in the terminals at that end or in the probe there: exchange the probes and record again.",
			n, counted(int64(l.First+l.Second), "burst"), c.endName(!x.First))
	case compare.Few:
		return fmt.Sprintf("Between the taps: open; %s, damaged at both ends in %s: too few to build on.%s", n, counted(int64(x.Common), "episode"), open)
	case compare.NotSeen:
		return fmt.Sprintf("Between the taps: nothing is lost. All %s that one end shows whole stand whole at the other too; a loss of %s or more would have shown.", counted(int64(x.Share.N), "frame"), unit(figures(100*x.Share.High), "%"))
	}
	return "Between the taps: nothing can be said, for neither end shows a whole frame."
}

func ownSays(o *compare.Origin) string {
	return fmt.Sprintf("Not between the taps: frames of %s that stand at both ends with the same wrong checksum and nothing else wrong, %s, in %s: its sender made them.",
		unitName(o.Side), shared(o.Share), counted(int64(o.Episodes), "episode"))
}

func (c *Comparison) silentSays() string {
	x := c.Conclusion
	where := "at both ends"
	if x.Silent == capture.Indoor || x.Silent == capture.Outdoor {
		where = "at the " + x.Silent.String() + " end"
	}
	s := fmt.Sprintf("No reply: polls that stood whole %s and were answered at neither end, %s, in %s. So no reply to them was lost on the way. That speaks about %s (its sender, receiver, address or supply) or the wiring behind its tap; ",
		where, shared(x.Polls.Share), counted(int64(x.Polls.Episodes), "episode"), unitName(x.Silent))
	if x.Common+x.Episodes >= 3 {
		return s + "but the line was disturbed too, and a receiver may hear that worse than a tap does."
	}
	return s + "a leak or a resistance in a loop can keep a receiver from what a tap still reads, so look at the levels too."
}
