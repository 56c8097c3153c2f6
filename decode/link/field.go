package link

import (
	"fmt"
	"math"

	"linewitness/decode/checksum"
)

// Number is a field's number: Field is its place in the shape's Fields.
type Number struct {
	Field int
	N     int64
}

// Dissect appends the numbers of a frame's fields to dst; of a frame that is too short for some, those it has. shape is an
// index into Shapes; -1 has no fields.
func (p *Profile) Dissect(dst []Number, octets []byte, shape int) []Number {
	if shape < 0 || shape >= len(p.Shapes) {
		return dst
	}
	fields := p.Shapes[shape].Fields
	for i := range fields {
		if n, ok := fields[i].Number(octets); ok {
			dst = append(dst, Number{Field: i, N: n})
		}
	}
	return dst
}

// size is the octets it is read from, 0 taken as 1; width the bits of its number, 0 taken as all from Bit on. Both are 0
// where the field is none.
func (f *Field) size() int {
	n := max(f.Octets, 1)
	if n > 8 {
		return 0
	}
	return n
}

func (f *Field) width() int {
	w := f.Bits
	if w == 0 {
		w = 8*f.size() - f.Bit
	}
	if f.Bit < 0 || w < 1 || f.Bit+w > 8*f.size() {
		return 0
	}
	return w
}

// word is where the field's octets stand in a frame of n octets, and which of them is octet i from the highest.
func (f *Field) word(n int) (from, size int, ok bool) {
	from, size = at(f.At, n), f.size()
	return from, size, from >= 0 && size > 0 && from <= n-size && f.width() > 0
}

func (f *Field) place(from, size, i int) int {
	if f.Order == checksum.Little {
		return from + size - 1 - i
	}
	return from + i
}

// Number reads the field; ok is false where it stands outside the octets. A number of 64 bits without a sign is wrapped.
func (f *Field) Number(octets []byte) (n int64, ok bool) {
	from, size, ok := f.word(len(octets))
	if !ok {
		return 0, false
	}
	var u uint64
	for i := range size {
		u = u<<8 | uint64(octets[f.place(from, size, i)])
	}
	w := f.width()
	u = u >> f.Bit << (64 - w)
	if f.Signed {
		return int64(u) >> (64 - w), true
	}
	return int64(u >> (64 - w)), true
}

// put writes the number and leaves the other bits of its octets as they are.
func (f *Field) put(octets []byte, n int64) error {
	from, size, ok := f.word(len(octets))
	if !ok {
		return fmt.Errorf("field %s: outside a frame of %d octets", f.Name, len(octets))
	}
	if !f.holds(n) {
		return fmt.Errorf("field %s: %d takes more than its %d bits", f.Name, n, f.width())
	}
	w := f.width()
	mask := ^uint64(0) >> (64 - w) << f.Bit
	bits := uint64(n) << f.Bit & mask
	for i := range size {
		o := &octets[f.place(from, size, i)]
		shift := 8 * (size - 1 - i)
		*o = *o&^byte(mask>>shift) | byte(bits>>shift)
	}
	return nil
}

// holds tells whether the number fits the field's bits.
func (f *Field) holds(n int64) bool {
	w := f.width()
	switch {
	case w == 0:
		return false
	case w == 64:
		return true
	case f.Signed:
		return n >= -1<<(w-1) && n < 1<<(w-1)
	}
	return n >= 0 && n <= int64(^uint64(0)>>(64-w))
}

// scale is Scale, 0 taken as 1.
func (f *Field) scale() float64 {
	if f.Scale == 0 {
		return 1
	}
	return f.Scale
}

// Value is the number in the field's unit; of a thermistor degC, NaN where its curve has none: sensor open, shorted, or
// beyond the table.
func (f *Field) Value(n int64) float64 {
	v := float64(n)
	if n < 0 && !f.Signed {
		v = float64(uint64(n)) // of 64 bits
	}
	if f.Curve != nil {
		return f.Curve.DegC(v)
	}
	return v*f.scale() + f.Offset
}

// NumberFor is the number whose value is nearest; an error where the field, or its curve, has none.
func (f *Field) NumberFor(value float64) (int64, error) {
	v := (value - f.Offset) / f.scale()
	if f.Curve != nil {
		v = f.Curve.number(value)
	}
	v = math.Round(v)
	low, high := f.ends()
	if math.IsNaN(v) || v < low || v > high {
		return 0, fmt.Errorf("field %s: %g %s is outside what it can say", f.Name, value, f.Unit)
	}
	n := wrap(v)
	if f.Curve != nil && math.IsNaN(f.Value(n)) {
		return 0, fmt.Errorf("field %s: %g %s is outside its curve", f.Name, value, f.Unit)
	}
	return n, nil
}

// ends are the least and the largest number as they round to float64, both of them inside.
func (f *Field) ends() (low, high float64) {
	w := f.width()
	switch {
	case w == 0:
		return 0, -1
	case f.Signed:
		high = math.Ldexp(1, w-1)
		return -high, beneath(high)
	}
	return 0, beneath(math.Ldexp(1, w))
}

// beneath is the largest whole number below a power of two that float64 has.
func beneath(power float64) float64 {
	if below := power - 1; below < power {
		return below
	}
	return math.Nextafter(power, 0)
}

func wrap(v float64) int64 {
	if v >= 1<<63 {
		return int64(uint64(v))
	}
	return int64(v)
}

// NameOf is what the field calls a number or, of flags, a bit.
func (f *Field) NameOf(n int64) (string, bool) {
	for i := range f.Names {
		if f.Names[i].Number == n {
			return f.Names[i].Name, true
		}
	}
	return "", false
}
