package output

import (
	"fmt"
	"io"
	"math"
	"strings"

	"linewitness/capture"
	"linewitness/decode/compare"
	"linewitness/decode/verdict"
)

// WriteComparison writes c for people: what it says first, then what that rests on.
func WriteComparison(w io.Writer, c *Comparison) error {
	_, err := w.Write(appendComparison(nil, c))
	return err
}

func appendComparison(b []byte, c *Comparison) []byte {
	for i, f := range c.both() {
		name := [2]string{"Before: ", "After: "}[i]
		if end := c.end(i == 1); end != capture.SideUnknown {
			name = strings.ToUpper(end.String()[:1]) + end.String()[1:] + " end: "
		}
		r := f.Recording
		r.Name = c.Names[i]
		b = appendWrapped(b, name, indent, recordingLine(&r))
	}
	b = appendWrapped(b, "", indent, c.linkLine())
	b = appendWrapped(b, "", indent, c.kindLine())
	b = append(b, '\n')
	for _, s := range c.says() {
		b = appendWrapped(b, "", indent, s)
	}
	if c.Losses != nil {
		b = append(b, "\nFrames:\n"...)
		for i := range c.Losses.Senders {
			b = c.appendSender(b, &c.Losses.Senders[i])
		}
		b = c.appendRest(b)
	}
	b = c.appendChanges(b)
	return c.appendCautions(b)
}

func (c *Comparison) linkLine() string {
	line, from := linkLine(c.First.Link), "each recording"
	if c.LinkFrom != "" {
		from = c.LinkFrom
	}
	return strings.Replace(line, "learned from this recording", "learned from "+from, 1)
}

// kindLine says what the recordings are taken as, and why.
func (c *Comparison) kindLine() string {
	al := c.Alignment
	switch {
	case !c.TwoTaps && c.Given:
		return "Taken as before and after, as said."
	case !c.TwoTaps:
		return "Taken as before and after: " + c.Why + ". Say --two-taps if they were recorded at once."
	case !al.Aligned:
		return "Taken as two taps at once, as said; but they cannot be aligned: " + al.Why + "."
	}
	l := &al.Line
	s := fmt.Sprintf("Taken as two taps at once: %d whole frames stand in both, to %s of each other. The second's time is the first's %s (standard error %s, at %s of the first); its clock runs %s (standard error %s). Both recorded for %s.",
		al.Matched, span(l.Scatter), plus(l.Offset), span(l.OffsetErr), unit(trimmed(l.At, 3), "s"), rate(1e6*l.Drift), unit(trimmed(1e6*l.DriftErr, 2), "ppm"),
		unit(trimmed(al.To-al.From, 3), "s"))
	if !al.Sure() {
		s += " That it is one conversation is taken from what you say: " + al.Why + "."
	}
	return s
}

// plus is what is added to an instant, s.
func plus(s float64) string {
	if s < 0 {
		return "less " + unit(trimmed(-s, 7), "s")
	}
	return "plus " + unit(trimmed(s, 7), "s")
}

// rate is how much faster a clock runs than another.
func rate(ppm float64) string {
	s := unit(trimmed(math.Abs(ppm), 2), "ppm")
	switch {
	case s == unit("0", "ppm"):
		return "alike"
	case ppm < 0:
		return s + " slow"
	}
	return s + " fast"
}

// appendSender is what both ends show of one sender's frames.
func (c *Comparison) appendSender(b []byte, s *compare.Sender) []byte {
	parts := []string{fmt.Sprintf("%s: %s whole at both ends", frameSide(s.Side), counted(int64(s.Whole), "frame"))}
	if lost, known := c.Losses.Lost(s, c.Ends); known {
		parts[0] += "; whole at its own end and lost on the way " + shared(lost)
	}
	part := func(e *compare.Events, what string) {
		if e.N > 0 {
			parts = append(parts, fmt.Sprintf("%d %s, in %s%s", e.N, what, counted(int64(e.Episodes), "episode"), c.instants(e)))
		}
	}
	part(&s.FirstOnly, "whole at the "+c.endName(false)+" only"+missingOf(&s.FirstOnly))
	part(&s.SecondOnly, "whole at the "+c.endName(true)+" only"+missingOf(&s.SecondOnly))
	part(&s.Alike, "damaged alike at both")
	part(&s.Unalike, "damaged at both, otherwise")
	b = appendWrapped(b, indent, indent+indent, parts[0])
	for _, p := range parts[1:] {
		b = appendWrapped(b, indent+indent+"- ", strings.Repeat(indent, 3), p)
	}
	return b
}

func missingOf(e *compare.Events) string {
	if e.Missing == 0 {
		return ""
	}
	return fmt.Sprintf(" (%d of them leave nothing at the other)", e.Missing)
}

// appendRest is what is nobody's frame.
func (c *Comparison) appendRest(b []byte) []byte {
	l := c.Losses
	if l.Opposed.N > 0 {
		b = appendWrapped(b, indent, indent+indent, fmt.Sprintf("%s that each end takes for the other unit's%s", counted(int64(l.Opposed.N), "space"), c.instants(&l.Opposed)))
	}
	if l.First+l.Second > 0 {
		b = appendWrapped(b, indent, indent+indent, fmt.Sprintf("damaged, with nothing at the other end: %d at the %s, %d at the %s", l.First, c.endName(false), l.Second, c.endName(true)))
	}
	if p := &l.Polls; p.By != capture.SideUnknown {
		b = appendWrapped(b, indent, indent+indent, fmt.Sprintf("polls by the %s unit: %d arrived whole, %d did not; of those that arrived, unanswered at both ends %s%s", frameSide(p.By),
			p.Heard, p.Lost, shared(c.Conclusion.Polls.Share), c.instants(&p.Unanswered)))
	}
	return b
}

// instants are the first few of a kind, on the first's axis.
func (c *Comparison) instants(e *compare.Events) string {
	var at []capture.Tick
	for _, m := range e.At {
		at = append(at, m.First)
	}
	return instants(at, c.First.Recording.Clock)
}

// appendCautions shows the caution of either tap, once where it is the same.
func (c *Comparison) appendCautions(b []byte) []byte {
	first, second := c.First, c.Second
	if first.Caution == second.Caution {
		if first.Caution == "" {
			return b
		}
		return appendWrapped(append(b, '\n'), "Caution at these taps: ", indent, first.Caution)
	}
	for _, f := range c.both() {
		if f.Caution != "" {
			b = appendWrapped(append(b, '\n'), "Caution at tap "+f.Recording.Tap.String()+": ", indent, f.Caution)
		}
	}
	return b
}

// shared is a share with its interval.
func shared(s compare.Share) string {
	if s.N == 0 {
		return "none of 0"
	}
	return fmt.Sprintf("%d of %d, %s (95%c%% interval %s to %s)", s.K, s.N, unit(figures(100*float64(s.K)/float64(s.N)), "%"), tied, figures(100*s.Low), unit(figures(100*s.High), "%"))
}

func unit(figure, unit string) string { return figure + string(tied) + unit }

// span is a short time in the unit that suits it.
func span(s float64) string {
	switch {
	case math.IsNaN(s):
		return "an unknown time"
	case s < 1e-3:
		return unit(figures(1e6*s), "us")
	case s < 1:
		return unit(figures(1e3*s), "ms")
	}
	return unit(figures(s), "s")
}

// unitName is a side in words.
func unitName(s capture.Side) string {
	if s == capture.Line || s == capture.SideUnknown {
		return "the line"
	}
	return verdict.SideName(s)
}
