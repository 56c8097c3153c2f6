package link

import (
	"fmt"
	"slices"
	"sync"
)

// scratch lends the octets of one Compose; nothing of it shows.
var scratch = sync.Pool{New: func() any { b := make([]byte, 0, 512); return &b }}

// Compose puts a frame of a shape together and appends its characters to dst, as they stand on the line: the shape's
// Constant, what Match asks, the numbers of set by the fields' names (others stay as Constant has them), marks, length
// character, checksum, coding. A break is its first character, of value 0. The length is the shape's, else the framing's,
// else what its parts need: content up to the last place named from the start, then what stands from the checksum on. An
// error where the rules would read anything else back than this frame; dst is then as it was.
func (p *Profile) Compose(dst []uint16, shape int, set map[string]int64) ([]uint16, error) {
	if shape < 0 || shape >= len(p.Shapes) {
		return dst, fmt.Errorf("compose: no shape %d of %d", shape, len(p.Shapes))
	}
	s := &p.Shapes[shape]
	lent := scratch.Get().(*[]byte)
	defer scratch.Put(lent)
	n := p.composed(s)
	if n > most {
		return dst, fmt.Errorf("compose %s: %d octets are more than %d", s.Name, n, most)
	}
	b := slices.Grow((*lent)[:0], n)[:n]
	*lent = b
	clear(b)
	if err := p.fill(b, s, set); err != nil {
		return dst, fmt.Errorf("compose %s: %w", s.Name, err)
	}
	out := p.characters(dst, b)
	if err := p.reads(b, out[len(dst):], shape); err != nil {
		return dst, fmt.Errorf("compose %s: %w", s.Name, err)
	}
	return out, nil
}

// composed is how many octets a frame of the shape is composed of.
func (p *Profile) composed(s *Shape) int {
	if s.Length > 0 {
		return s.Length
	}
	if n := p.Framing.fixedOctets(); n > 0 {
		return n
	}
	body := max(p.Framing.head(), len(s.Constant))
	back := max(p.behindPayload(), p.Framing.tail())
	if p.Framing.Length != nil {
		body = max(body, p.Framing.Length.At+1)
	}
	reach := func(at, size int) {
		if at >= 0 {
			body = max(body, at+size)
		} else {
			back = max(back, -at)
		}
	}
	for i := range s.Fields {
		reach(s.Fields[i].At, s.Fields[i].size())
	}
	for _, m := range s.Match {
		reach(m.At, 1)
	}
	return max(body+back, p.leastOctets())
}

// fill writes the octets.
func (p *Profile) fill(b []byte, s *Shape, set map[string]int64) error {
	if n := copy(b, s.Constant); n < len(s.Constant) {
		return fmt.Errorf("its constant octets are %d, the frame has %d", len(s.Constant), len(b))
	}
	for _, m := range s.Match {
		i := at(m.At, len(b))
		if i < 0 || i >= len(b) {
			return fmt.Errorf("it is known by octet %d, the frame has %d", m.At, len(b))
		}
		b[i] = b[i]&^m.Mask | m.Value&m.Mask
	}
	found := 0
	for i := range s.Fields {
		n, ok := set[s.Fields[i].Name]
		if !ok {
			continue
		}
		found++
		if err := s.Fields[i].put(b, n); err != nil {
			return err
		}
	}
	if found < len(set) {
		return unknownField(s, set)
	}
	return p.guard(b)
}

// unknownField names the first field, in order of the alphabet, that the shape has not.
func unknownField(s *Shape, set map[string]int64) error {
	var unknown []string
	for name := range set {
		if !slices.ContainsFunc(s.Fields, func(f Field) bool { return f.Name == name }) {
			unknown = append(unknown, name)
		}
	}
	if len(unknown) == 0 {
		return nil
	}
	return fmt.Errorf("it has no field %q", slices.Min(unknown))
}

// guard writes marks, length character and checksum.
func (p *Profile) guard(b []byte) error {
	f := &p.Framing
	if len(b) < p.leastOctets() {
		return fmt.Errorf("a frame has at least %d octets, not %d", p.leastOctets(), len(b))
	}
	if f.Break {
		b[0] = 0
	}
	for i, c := range f.Start {
		b[f.head()-len(f.Start)+i] = byte(c)
	}
	for i, c := range f.End {
		b[len(b)-f.tail()+i] = byte(c)
	}
	if f.Length != nil {
		n := len(b) - p.uncounted()
		if n < 0 || n > 255 || f.Length.At < 0 || f.Length.At >= len(b) {
			return fmt.Errorf("no octet can say the length of %d octets: it would be %d", len(b), n)
		}
		b[f.Length.At] = byte(n)
	}
	if p.Checksum != nil && !p.Checksum.Put(b) {
		return fmt.Errorf("a frame of %d octets has no room for its checksum", len(b))
	}
	return nil
}

// characters puts the octets on the line.
func (p *Profile) characters(dst []uint16, b []byte) []uint16 {
	f := &p.Framing
	if f.Break {
		dst = append(dst, 0)
	}
	dst = append(dst, f.Start...)
	dst = f.encode(dst, b[f.head():len(b)-f.tail()])
	dst = append(dst, f.End...)
	for _, c := range b[len(b)-f.After:] {
		dst = append(dst, uint16(c))
	}
	return dst
}
