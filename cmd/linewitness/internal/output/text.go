package output

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"linewitness/capture"
	"linewitness/decode"
	"linewitness/decode/cause"
	"linewitness/decode/link"
	"linewitness/decode/verdict"
)

// Text shows at most so much of each kind; the JSON has the rest.
const (
	textEvidence   = 6
	textInstants   = 3
	textCandidates = 5
)

const indent = "  "

// WriteText writes f for people: the verdict first, then why, what need not be replaced, and what to do next.
func WriteText(w io.Writer, f *decode.Finding) error {
	_, err := w.Write(appendText(nil, f))
	return err
}

func appendText(b []byte, f *decode.Finding) []byte {
	if f.Basis != nil && f.Basis.Bare {
		b = appendWrapped(b, "", indent, "Nothing recorded: what follows stands on what was read by hand.")
	} else {
		b = appendWrapped(b, "", indent, recordingLine(&f.Recording))
		b = appendWrapped(b, "", indent, linkLine(f.Link))
	}
	if f.Volts != nil {
		b = appendWrapped(b, "", indent, levelLine(f.Volts))
	}
	b = append(b, '\n')
	b = appendWrapped(b, "Verdict: ", indent, verdictLine(f))
	for _, also := range f.Also {
		b = appendWrapped(b, indent, indent, "As well: "+candidateName(also.Key)+", "+percent(also.Probability)+".")
	}
	b = appendPrior(b, &f.Prior)
	if f.Verdict.Undetermined {
		b = appendCandidates(b, f.Candidates)
	}
	b = appendEvidence(b, f)
	if len(f.Cleared) > 0 {
		b = append(b, "\nCleared, do not replace:\n"...)
		for _, c := range f.Cleared {
			b = appendWrapped(b, indent+"- ", indent+indent, c.What+": "+c.Because)
		}
	}
	b = appendNext(b, f)
	b = appendSenders(b, f)
	b = appendValues(b, f)
	if f.Caution != "" {
		b = append(b, '\n')
		at := "Caution at this tap: "
		if f.Basis != nil && f.Basis.Bare {
			at = "Caution at the line: "
		}
		b = appendWrapped(b, at, indent, f.Caution)
	}
	return b
}

func recordingLine(r *decode.Recording) string {
	name := r.Name
	if name == "-" || name == "" {
		name = "standard input"
	}
	tap := "tap " + r.Tap.String()
	if r.TapInferred && r.Tap != capture.TapUnknown {
		tap += " (inferred; say --tap if it is another)"
	}
	s := fmt.Sprintf("%s: %s s at %s, ", name, seconds(r.To-r.From, r.Clock), tap)
	switch {
	case r.Samples > 0:
		s += counted(r.Samples, "sample")
	default:
		s += counted(r.Transitions, "transition")
	}
	if r.Lost > 0 || r.Gaps > 0 {
		s += fmt.Sprintf(", %s s lost in %s", seconds(r.Lost, r.Clock), counted(r.Gaps, "gap"))
	}
	return s
}

func linkLine(p *link.Profile) string {
	if p == nil {
		return "Link: nothing on the line could be read as talk."
	}
	parts := []string{}
	if p.Kind != link.KindUnknown {
		parts = append(parts, p.Kind.String())
	}
	if p.Line.Speed > 0 && p.Line.Format.Valid() {
		parts = append(parts, trimmed(p.Line.Speed, 0)+" Bd "+p.Line.Format.String())
	}
	parts = append(parts, "framing "+p.Framing.String(), "checksum "+newChecksum(p).Checksum)
	from := "from the profile"
	if p.Learned {
		from = "learned from this recording"
	}
	return "Link: " + strings.Join(parts, ", ") + " (" + from + ")."
}

func verdictLine(f *decode.Finding) string {
	v := &f.Verdict
	said := strings.TrimSuffix(strings.TrimSpace(v.Summary), ".")
	if v.Undetermined {
		said = strings.TrimPrefix(said, "Undetermined: ")
		if said == "" {
			said = "no cause is likely enough to name one"
		}
		if len(f.Candidates) > 0 && !strings.Contains(said, "%") { // a summary may say it in its own words
			said += " (the likeliest candidate has " + percent(v.Probability) + ")"
		}
		return "undetermined: " + said + "."
	}
	if said == "" {
		said = candidateName(v.Key)
	}
	line := said + "."
	if !strings.Contains(said, "probability") {
		line = fmt.Sprintf("%s (%s).", said, percent(v.Probability))
	}
	if v.Family != cause.Sound && !math.IsNaN(v.Explains) && v.Explains > 0 {
		line += fmt.Sprintf(" It explains %s of the lost and bad frames%s.", trimmed(v.Explains, 0)+string(tied)+"%", fromTo(v.ExplainsLow, v.ExplainsHigh))
	}
	return line
}

// fromTo is an interval in per cent, where there is one.
func fromTo(low, high float64) string {
	if !(high > low) {
		return ""
	}
	return fmt.Sprintf(" (%s to %s%c%%)", trimmed(low, 0), trimmed(high, 0), tied)
}

// appendPrior says what the answer stands on besides what was seen: the history where one was given, and another answer under even odds.
func appendPrior(b []byte, p *verdict.Prior) []byte {
	if p.History != "" && p.History != verdict.Routine {
		b = appendWrapped(b, indent, indent, "History: "+p.History+".")
	}
	if p.Differs {
		b = appendWrapped(b, indent, indent, "With all candidates held alike beforehand "+candidateName(p.Flat.Key)+" would lead with "+percent(p.Flat.Probability)+".")
	}
	return b
}

// candidateName is a cause and where it sits, in words.
func candidateName(k verdict.Key) string {
	switch k.Side {
	case capture.Indoor, capture.Outdoor, capture.SideA, capture.SideB:
		return k.Cause.Plain() + ", " + verdict.SideName(k.Side)
	}
	return k.Cause.Plain()
}

func appendCandidates(b []byte, all []verdict.Candidate) []byte {
	if len(all) == 0 {
		return b
	}
	b = append(b, "\nCandidates:\n"...)
	for i, c := range all {
		if i == textCandidates {
			return appendWrapped(b, indent, indent, fmt.Sprintf("and %d less likely ones", len(all)-i))
		}
		b = appendWrapped(b, fmt.Sprintf("%s%8s  ", indent, strings.ReplaceAll(percent(c.Probability), string(tied), " ")), strings.Repeat(" ", 12), candidateName(c.Key))
	}
	return b
}

func appendEvidence(b []byte, f *decode.Finding) []byte {
	if len(f.Evidence) == 0 {
		return b
	}
	b = append(b, "\nEvidence:\n"...)
	for i := range f.Evidence {
		if i == textEvidence {
			return appendWrapped(b, indent, indent, fmt.Sprintf("and %d more with --json", len(f.Evidence)-i))
		}
		e := &f.Evidence[i]
		b = appendWrapped(b, indent+"- ", indent+indent, e.Says+instants(e.At, f.Recording.Clock))
	}
	return b
}

// instants is the first few times of an evidence, on the recording's own axis.
func instants(at []capture.Tick, clock capture.Clock) string {
	at = firstInstants(at)
	if len(at) == 0 {
		return ""
	}
	shown := make([]string, 0, textInstants)
	for _, t := range at[:min(len(at), textInstants)] {
		shown = append(shown, seconds(t, clock))
	}
	more := ""
	if len(at) > textInstants {
		more = ", ..."
	}
	return " (at " + strings.Join(shown, ", ") + more + " s)"
}

func appendNext(b []byte, f *decode.Finding) []byte {
	b = append(b, "\nNext check:\n"...)
	if len(f.NextChecks) == 0 {
		return appendWrapped(b, indent, indent, "None on the list would change this answer much. Confirm it with a second recording before anything is replaced.")
	}
	next := &f.NextChecks[0]
	b = appendWrapped(b, indent, indent, fmt.Sprintf("%s (check %s, %s)", next.Do, next.ID, effort(next.Live, next.Minutes)))
	if next.Caution != "" {
		b = appendWrapped(b, indent+"CAUTION: ", indent, next.Caution)
	}
	return b
}

func appendSenders(b []byte, f *decode.Finding) []byte {
	if len(f.Senders) == 0 && f.Unframed == 0 {
		return b
	}
	b = append(b, "\nSenders:\n"...)
	for i := range f.Senders {
		b = appendWrapped(b, indent, indent+indent, senderLine(&f.Senders[i]))
	}
	if f.Unframed > 0 {
		b = appendWrapped(b, indent, indent+indent, counted(f.Unframed, "burst")+" without a frame's shape")
	}
	return b
}

func senderLine(s *decode.Sender) string {
	parts := []string{fmt.Sprintf("%s: %s, %d good", s.Side, counted(s.Frames, "frame"), s.Good)}
	for _, bad := range []struct {
		what string
		n    int64
	}{{"checksum", s.Bad.Checksum}, {"parity", s.Bad.Parity}, {"stop", s.Bad.Stop}, {"length", s.Bad.Length}, {"timing", s.Bad.Timing}} {
		if bad.n > 0 {
			parts = append(parts, fmt.Sprintf("%d bad by %s", bad.n, bad.what))
		}
	}
	part := func(what string, v float64, places int, unit string) {
		if !math.IsNaN(v) {
			parts = append(parts, what+" "+trimmed(v, places)+string(tied)+unit)
		}
	}
	part("speed error", s.SpeedErrorPPM, 0, "ppm")
	part("bias", s.BiasPct, 1, "%")
	part("isochronous", s.IsochronousPct, 1, "%")
	part("turn-around", s.TurnP50*1000, 1, "ms")
	return strings.Join(parts, ", ")
}

// counted is a number and its noun.
func counted(n int64, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return strconv.FormatInt(n, 10) + " " + noun + "s"
}

// seconds is an instant for people: microseconds are enough to find it.
func seconds(t capture.Tick, c capture.Clock) string {
	if !c.Valid() {
		return "?"
	}
	return trimmed(c.Seconds(t), 6)
}

// trimmed is v with at most that many places after the point.
func trimmed(v float64, places int) string {
	s := strconv.FormatFloat(v, 'f', places, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		return "0"
	}
	return s
}

// percent is a probability, its unit tied to it.
func percent(p float64) string {
	return strings.ReplaceAll(verdict.Percent(p), " ", string(tied))
}
