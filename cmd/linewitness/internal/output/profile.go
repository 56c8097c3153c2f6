package output

import (
	"fmt"
	"io"
	"strings"

	"linewitness/capture"
	"linewitness/decode/link"
	"linewitness/decode/verdict"
)

// WriteProfile describes a link for people.
func WriteProfile(w io.Writer, p *link.Profile) error {
	name := p.Name
	if p.Invented {
		name += " (invented)"
	}
	b := appendWrapped(nil, "", indent, name)
	if p.Note != "" {
		b = appendWrapped(b, indent, indent, p.Note)
	}
	b = appendWrapped(b, indent, indent, linkLine(p))
	for _, line := range []string{supplyLine(p), dialogueLine(p), addressLine(p.Address)} {
		if line != "" {
			b = appendWrapped(b, indent, indent, line)
		}
	}
	for i := range p.Shapes {
		b = appendShape(b, &p.Shapes[i])
	}
	_, err := w.Write(b)
	return err
}

func supplyLine(p *link.Profile) string {
	if p.Kind != link.Loop3 || p.Feed == capture.SideUnknown && p.Supply.Volts == 0 {
		return ""
	}
	s := "Loop supply:"
	if p.Supply.Volts != 0 {
		s += " " + trimmed(p.Supply.Volts, 1) + string(tied) + "V"
	}
	if p.Supply.HalfWave {
		s += " half-wave"
	}
	if p.Feed != capture.SideUnknown {
		s += " from " + verdict.SideName(p.Feed)
	}
	if p.Supply.Reference != "" {
		s += ", returned through " + p.Supply.Reference
	}
	return s + "."
}

func dialogueLine(p *link.Profile) string {
	t := &p.Timing
	if !t.TwoTalkers {
		return ""
	}
	parts := []string{roleName(p.Controller) + " polls" + every(t.PollPeriod)}
	answers := roleName(p.Responder) + " answers"
	switch {
	case t.TurnaroundMin > 0 && t.TurnaroundMax > 0:
		answers += " after " + milliseconds(t.TurnaroundMin) + " to " + milliseconds(t.TurnaroundMax)
	case t.TurnaroundMax > 0:
		answers += " within " + milliseconds(t.TurnaroundMax)
	}
	parts = append(parts, answers)
	if t.Retries > 0 {
		retry := counted(int64(t.Retries), "repetition") + " without a good reply"
		if t.RetryAfter > 0 {
			retry += ", each after " + milliseconds(t.RetryAfter)
		}
		parts = append(parts, strings.Replace(retry, "repetitions", "repetitions at most", 1))
	}
	if t.SlowPeriod > 0 {
		slow := "slow pace" + every(t.SlowPeriod)
		if t.SlowAfter > 0 {
			slow += " after " + trimmed(t.SlowAfter, 1) + string(tied) + "s without a good reply"
		}
		parts = append(parts, slow)
	}
	if t.FaultAfter > 0 {
		parts = append(parts, "a communication fault is shown after "+trimmed(t.FaultAfter, 1)+string(tied)+"s")
	}
	return "Dialogue: " + strings.Join(parts, "; ") + "."
}

func roleName(s capture.Side) string {
	if s == capture.SideUnknown {
		return "one unit"
	}
	return verdict.SideName(s)
}

func every(seconds float64) string {
	if seconds <= 0 {
		return ""
	}
	return " every " + trimmed(seconds, 3) + string(tied) + "s"
}

func milliseconds(s float64) string { return trimmed(s*1000, 2) + string(tied) + "ms" }

func addressLine(a *link.Address) string {
	if a == nil {
		return ""
	}
	units := make([]string, 0, len(a.Names))
	for _, u := range a.Names {
		units = append(units, fmt.Sprintf("%02X %s", u.Value, u.Name))
	}
	return fmt.Sprintf("Address: octet %d; %s.", a.At, strings.Join(units, ", "))
}

func appendShape(b []byte, s *link.Shape) []byte {
	head := s.Name + ":"
	if s.Length > 0 {
		head += " " + counted(int64(s.Length), "octet") + ","
	}
	head += " from " + roleName(s.From)
	if s.From == capture.SideUnknown {
		head = strings.Replace(head, "one unit", "either unit", 1)
	}
	if s.Start {
		head += ", after it has started"
	}
	if len(s.Answers) > 0 {
		head += "; answered by " + strings.Join(s.Answers, " or ")
	}
	b = append(b, '\n')
	b = appendWrapped(b, indent, indent+indent, head)
	for i := range s.Fields {
		b = appendWrapped(b, indent+indent, indent+indent+indent, fieldLine(&s.Fields[i]))
	}
	return b
}

// fieldLine is where a field stands and what it means.
func fieldLine(f *link.Field) string {
	place := fmt.Sprintf("octet %d", f.At)
	if f.Octets > 1 {
		place = fmt.Sprintf("octets %d to %d, %s end first", f.At, f.At+f.Octets-1, map[bool]string{true: "low", false: "high"}[f.Order != 0])
	}
	if f.Bit > 0 || f.Bits > 0 && f.Bits < 8*f.Octets {
		place += fmt.Sprintf(", bit %d", f.Bit)
		if f.Bits > 1 {
			place += fmt.Sprintf(" to %d", f.Bit+f.Bits-1)
		}
	}
	parts := []string{place}
	if f.Signed {
		parts = append(parts, "signed")
	}
	if f.Counter {
		parts = append(parts, "counts up")
	}
	switch {
	case f.Curve != nil:
		parts = append(parts, "thermistor, degC")
	case f.Flags:
		parts = append(parts, "flags")
	case f.Unit != "":
		unit := f.Unit
		if f.Scale != 1 && f.Scale != 0 {
			unit = fmt.Sprintf("x %g %s", f.Scale, unit)
		}
		if f.Offset != 0 {
			unit += fmt.Sprintf(" %+g", f.Offset)
		}
		parts = append(parts, unit)
	}
	for _, n := range f.Names {
		parts = append(parts, fmt.Sprintf("%d %s", n.Number, n.Name))
	}
	return f.Name + ": " + strings.Join(parts, ", ")
}
