package link

import (
	"errors"
	"fmt"
	"slices"

	"linewitness/capture"
)

// Check finds what contradicts itself in a profile that a program built; a file's are found with their places when it is
// read. All contradictions are joined in the error.
func (p *Profile) Check() error {
	var errs []error
	say := func(format string, args ...any) {
		errs = append(errs, fmt.Errorf("profile %s: %s", p.Name, fmt.Sprintf(format, args...)))
	}
	p.checkFraming(say)
	p.checkCoding(say)
	p.checkSum(say)
	for i := range p.Shapes {
		p.checkShape(say, i)
	}
	p.checkUnits(say)
	return errors.Join(errs...)
}

type sayer func(format string, args ...any)

func (p *Profile) checkFraming(say sayer) {
	f := &p.Framing
	if f.Gap < 0 || f.Inside < 0 || f.Gap > 0 && f.Inside > f.Gap {
		say("silences: %g s inside a frame, %g s end one", f.Inside, f.Gap)
	}
	if f.Fixed < 0 || f.Fixed > most || f.Fixed > 0 && f.Fixed < max(1, f.head()+f.tail()) {
		say("fixed: %d characters, of which %d are marks", f.Fixed, f.head()+f.tail())
	}
	if f.After < 0 || f.After > 0 && len(f.End) == 0 {
		say("after: %d characters behind an end mark of %d", f.After, len(f.End))
	}
	if f.Modbus && (f.Fixed > 0 || f.Length != nil || len(f.Start)+len(f.End) > 0 || f.Break || f.Coding != CodingPlain) {
		say("modbus has framing of its own")
	}
	for _, c := range slices.Concat(f.Start, f.End) {
		if bits := p.Line.Format.DataBits; bits > 0 && c>>bits != 0 {
			say("marks: %#x takes more than the %d bits of a character", c, bits)
		}
	}
	if f.Length == nil {
		return
	}
	if f.Fixed > 0 {
		say("a length character and a fixed length")
	}
	if f.Length.Counts > CountsPayload {
		say("length: it counts nothing known (%d)", f.Length.Counts)
	}
	if f.Length.At < f.head() {
		say("length: octet %d stands in the marks", f.Length.At)
	}
}

func (p *Profile) checkCoding(say sayer) {
	f := &p.Framing
	switch f.Coding {
	case CodingPlain:
		return
	case CodingHex:
		if f.Fixed > 0 && (f.Fixed-f.head()-f.tail())%2 != 0 {
			say("coding: a fixed length of %d characters leaves half an octet", f.Fixed)
		}
		for _, c := range slices.Concat(f.Start, f.End) {
			if digitOf(c) >= 0 {
				say("coding: the mark %#x is a digit", c)
			}
		}
		return
	case CodingEscape:
	default:
		say("coding: nothing known (%d)", f.Coding)
		return
	}
	if slices.Contains(f.Start, uint16(f.Escape.Mark)) || slices.Contains(f.End, uint16(f.Escape.Mark)) {
		say("escape: %#x is a mark too", f.Escape.Mark)
	}
	for _, c := range append(slices.Concat(f.Start, f.End), uint16(f.Escape.Mark)) {
		if c <= 0xFF && f.special(c^uint16(f.Escape.Xor)) {
			say("escape: %#x behind it would look like a mark", c^uint16(f.Escape.Xor))
		}
	}
}

func (p *Profile) checkSum(say sayer) {
	if p.Checksum == nil {
		return
	}
	if p.NoChecksum {
		say("a checksum, and none")
	}
	if p.Checksum.Sum == nil {
		say("checksum: no rule")
		return
	}
	if n := p.Framing.fixedOctets(); n > 0 {
		if _, _, _, short := p.Checksum.Verify(make([]byte, n)); short {
			say("checksum: it does not suit a frame of %d octets", n)
		}
	}
}

func (p *Profile) checkShape(say sayer, i int) {
	s := &p.Shapes[i]
	for _, other := range p.Shapes[:i] {
		if other.Name == s.Name {
			say("frame %s: two have this name", s.Name)
		}
	}
	for _, name := range s.Answers {
		if !slices.ContainsFunc(p.Shapes, func(o Shape) bool { return o.Name == name }) {
			say("frame %s: no frame is called %s, which should answer it", s.Name, name)
		}
	}
	n := s.Length
	if fixed := p.Framing.fixedOctets(); fixed > 0 && n > 0 && n != fixed {
		say("frame %s: %d octets, every frame has %d", s.Name, n, fixed)
	}
	if n < 0 || n > 0 && (n < p.leastOctets() || len(s.Constant) > n) {
		say("frame %s: %d octets are too few", s.Name, n)
	}
	for _, m := range s.Match {
		if k := at(m.At, n); n > 0 && (k < 0 || k >= n) {
			say("frame %s: octet %d is outside it", s.Name, m.At)
		}
		if m.Value&^m.Mask != 0 {
			say("frame %s: octet %d under mask %#x can't be %#x", s.Name, m.At, m.Mask, m.Value)
		}
	}
	for k := range s.Fields {
		p.checkField(say, s, k)
	}
}

func (p *Profile) checkField(say sayer, s *Shape, i int) {
	f := &s.Fields[i]
	name := s.Name + ", field " + f.Name
	for _, other := range s.Fields[:i] {
		if other.Name == f.Name {
			say("frame %s: two have this name", name)
		}
	}
	if f.width() == 0 {
		say("frame %s: bits %d to %d of %d octets", name, f.Bit, f.Bit+f.Bits-1, f.Octets)
	}
	if _, _, ok := f.word(s.Length); s.Length > 0 && !ok {
		say("frame %s: outside the frame", name)
	}
	for k, n := range f.Names {
		if slices.ContainsFunc(f.Names[:k], func(o Named) bool { return o.Number == n.Number }) {
			say("frame %s: two names of %d", name, n.Number)
		}
		if f.Flags && (n.Number < 0 || n.Number >= int64(f.width())) || !f.Flags && !f.holds(n.Number) {
			say("frame %s: it has no %d to be called %s", name, n.Number, n.Name)
		}
	}
	if f.Curve != nil {
		f.Curve.check(func(format string, args ...any) { say("frame %s: %s", name, fmt.Sprintf(format, args...)) })
	}
}

func (t *Thermistor) check(say sayer) {
	if !(t.Pull > 0 && t.Full > 0) {
		say("a divider of %g ohm and %g at full supply", t.Pull, t.Full)
	}
	if len(t.Points) == 0 {
		if !(t.R25 > 0) || !(t.Beta != 0) {
			say("a thermistor of %g ohm and beta %g", t.R25, t.Beta)
		}
		return
	}
	if len(t.Points) == 1 || t.R25 != 0 || t.Beta != 0 {
		say("%d points, R25 %g, beta %g: points of a table, or the other two", len(t.Points), t.R25, t.Beta)
	}
	for i, q := range t.Points {
		if !(q.Ohm > 0 && q.DegC > -kelvin) || i > 0 && !(q.DegC > t.Points[i-1].DegC) {
			say("points: %g degC, %g ohm does not follow", q.DegC, q.Ohm)
		}
		if i > 1 && (q.Ohm < t.Points[i-1].Ohm) != (t.Points[1].Ohm < t.Points[0].Ohm) || i > 0 && q.Ohm == t.Points[i-1].Ohm {
			say("points: %g ohm at %g degC: the table turns", q.Ohm, q.DegC)
		}
	}
}

func (p *Profile) checkUnits(say sayer) {
	if p.Controller == p.Responder && p.Controller != capture.SideUnknown {
		say("roles: %v is both", p.Controller)
	}
	if p.Address == nil {
		return
	}
	for i, u := range p.Address.Names {
		for _, o := range p.Address.Names[:i] {
			if o.Value == u.Value || o.Name == u.Name {
				say("address: two units are %#x or called %s", u.Value, u.Name)
			}
		}
	}
}
