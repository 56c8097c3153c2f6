package link

import "fmt"

// reads tells whether the rules read composed octets, and their characters on the line, back as one frame of the shape.
func (p *Profile) reads(b []byte, line []uint16, shape int) error {
	f := &p.Framing
	if f.Fixed > 0 && len(line) != f.Fixed {
		return fmt.Errorf("it takes %d characters, every frame has %d", len(line), f.Fixed)
	}
	if f.Modbus && len(line) > modbusMost {
		return fmt.Errorf("%d characters are more than %d", len(line), modbusMost)
	}
	for _, c := range line {
		if bits := p.Line.Format.DataBits; bits > 0 && c>>bits != 0 {
			return fmt.Errorf("%#x takes more than the %d bits of a character", c, bits)
		}
	}
	if f.Fixed == 0 && f.Length == nil && len(f.End) > 0 {
		if i := firstMark(line[f.head():], f.End) + f.head(); i != len(line)-f.tail() {
			return fmt.Errorf("its content has the end mark at character %d", i)
		}
	}
	l := Layer{Profile: p}
	if l.DecodeFromBytes(b, nil); l.Why != 0 {
		return fmt.Errorf("its content %w", Broken(l.Why))
	}
	if got := p.ShapeOf(b, p.Shapes[shape].From); got != shape {
		if got < 0 {
			return fmt.Errorf("it would not have its own shape")
		}
		return fmt.Errorf("it would be taken for %s", p.Shapes[got].Name)
	}
	return nil
}

func firstMark(v, mark []uint16) int {
	for i := 0; i+len(mark) <= len(v); i++ {
		if same(v[i:], mark) {
			return i
		}
	}
	return -1
}
