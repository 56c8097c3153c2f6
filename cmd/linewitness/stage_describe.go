package main

import (
	"bytes"
	"fmt"
	"io"
	"io/fs"
	"strings"

	"linewitness/capture"
	"linewitness/decode/check"
	"linewitness/fixtures/stage"
)

// describeStage prints what a scenario teaches, where the probe sits and what caution that place needs, and its parameters
// as its file says them.
func describeStage(out io.Writer, s *stage.Scenario, beside fs.FS) error {
	setup, causes, err := s.Setup(beside)
	if err != nil {
		return err
	}
	var b strings.Builder
	fmt.Fprintf(&b, "%s: %s (invented)\n\n", s.Name, s.Title)
	if s.Teaches != "" {
		b.WriteString(wrapped(string(s.Teaches), "") + "\n")
	}
	fmt.Fprintf(&b, "Link: %s, %v, %g Bd %v.\nProbe: %s. Recording: %g s.\n", setup.Link.Name, setup.Link.Kind, setup.Link.Line.Speed,
		setup.Link.Line.Format, probeText(setup), s.Seconds)
	if len(causes) == 0 {
		b.WriteString("Nothing is wrong.\n")
	}
	for _, c := range causes {
		b.WriteString(wrapped("Wrong: "+causeText(&c), "  "))
	}
	b.WriteString("\n" + wrapped("CAUTION: "+check.Caution(setup.Probe.Tap.String()), ""))
	var file bytes.Buffer
	if err := stage.Write(&file, s); err != nil {
		return err
	}
	b.WriteString("\nIts file:\n\n")
	for line := range strings.Lines(file.String()) {
		if !strings.HasPrefix(line, "teaches:") {
			b.WriteString("  " + line)
		}
	}
	if _, err := io.WriteString(out, b.String()); err != nil {
		return &outputError{err}
	}
	return nil
}

// probeText says where the probe sits and what it is.
func probeText(set *stage.Setup) string {
	p := &set.Probe
	text := p.Tap.String()
	if p.Tap == capture.BoardPin {
		text = fmt.Sprintf("%s of the %v unit", text, p.Side)
	}
	if p.Rate == 0 {
		return text + ", level changes"
	}
	text += fmt.Sprintf(", %g samples/s, full scale %g V", p.Rate, p.FullScale)
	if p.Coupling > 0 {
		text += ", AC coupled"
	}
	return text
}

// causeText is one fault as it was staged.
func causeText(c *stage.Cause) string {
	text := c.Cause + ", side " + c.Side
	for _, part := range []struct{ key, value string }{{"conductor", c.Conductor}, {"variant", c.Variant}, {"how", c.How}} {
		if part.value != "" {
			text += ", " + part.key + " " + part.value
		}
	}
	if c.Key != "" {
		text += fmt.Sprintf(", %.4g %s", c.Value, c.Key)
	}
	if c.Severity != nil {
		text += fmt.Sprintf(", severity %.2g of 1", *c.Severity)
	}
	switch n := len(c.Present); {
	case n > 6:
		text += fmt.Sprintf(", %d times from %.4g s to %.4g s", n, c.Present[0][0], c.Present[n-1][1])
	case n > 0:
		var spans []string
		for _, p := range c.Present {
			spans = append(spans, fmt.Sprintf("%.4g s to %.4g s", p[0], p[1]))
		}
		text += ", from " + strings.Join(spans, ", ")
	}
	return text + "."
}

// wrapped breaks text into lines of 80 characters, all but the first indented.
func wrapped(text, indent string) string {
	var b strings.Builder
	width := 0
	for i, word := range strings.Fields(text) {
		n := len([]rune(word))
		switch {
		case i == 0:
		case width+1+n > 80:
			b.WriteString("\n" + indent)
			width = len(indent)
		default:
			b.WriteByte(' ')
			width++
		}
		b.WriteString(word)
		width += n
	}
	b.WriteByte('\n')
	return b.String()
}
