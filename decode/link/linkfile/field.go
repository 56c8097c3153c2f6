package linkfile

import (
	"fmt"
	"math"

	"linewitness/decode/checksum"
	"linewitness/decode/link"
	"linewitness/decode/link/strict"
)

// thermistorUnit is the unit of a thermistor's value.
const thermistorUnit = "degC"

func (b *builder) field(f *fieldPart, path string, length int) (out link.Field, err *strict.Error) {
	out = link.Field{Name: string(f.Name), At: f.At, Octets: f.Octets, Bit: f.Bit, Bits: f.Bits, Signed: f.Signed,
		Scale: f.Scale, Offset: f.Offset, Unit: string(f.Unit), Flags: len(f.Flags) > 0, Counter: f.Counter}
	if f.Order == "little" {
		out.Order = checksum.Little
	}
	if !inside(f.At, f.Octets, length) {
		return out, b.outside(f, path, length)
	}
	if f.Bit >= 8*f.Octets {
		return out, b.Wrong(path+".bit", fmt.Sprintf("0 to %d", 8*f.Octets-1), fmt.Sprint(f.Bit))
	}
	if f.Bits == 0 {
		out.Bits = 8*f.Octets - f.Bit
	}
	if f.Bit+out.Bits > 8*f.Octets {
		return out, b.Wrong(path+".bits", fmt.Sprintf("1 to %d", 8*f.Octets-f.Bit), fmt.Sprint(f.Bits))
	}
	if f.Scale == 0 {
		return out, b.Wrong(path+".scale", "a number other than 0", "0")
	}
	if err := b.kinds(path); err != nil {
		return out, err
	}
	if err := b.names(f, &out, path); err != nil {
		return out, err
	}
	if f.Thermistor == nil {
		return out, nil
	}
	if out.Unit != "" && out.Unit != thermistorUnit {
		return out, b.Wrong(path+".unit", thermistorUnit+" for a thermistor", strict.Quote(out.Unit))
	}
	out.Unit = thermistorUnit
	out.Curve, err = b.thermistor(f.Thermistor, path+".thermistor")
	return out, err
}

func (b *builder) outside(f *fieldPart, path string, length int) *strict.Error {
	frame := "its frame"
	if length > 0 {
		frame = fmt.Sprintf("a frame of %d octets", length)
	}
	noun := "octets"
	if f.Octets == 1 {
		noun = "octet"
	}
	return b.Wrong(path+".at", fmt.Sprintf("%d %s inside %s", f.Octets, noun, frame), fmt.Sprint(f.At))
}

// kinds refuses keys that make a field two kinds of number at once.
func (b *builder) kinds(path string) *strict.Error {
	contradicts := []struct {
		key    string
		beside []string
	}{
		{"flags", []string{"names", "signed", "scale", "offset", "unit", "thermistor", "counter"}},
		{"names", []string{"thermistor", "counter"}},
		{"thermistor", []string{"scale", "offset", "counter"}},
	}
	for _, c := range contradicts {
		for _, other := range c.beside {
			if b.Has(path+"."+c.key) && b.Has(path+"."+other) {
				return b.WrongKey(path+"."+other, "no "+other+" beside "+c.key, "both")
			}
		}
	}
	return nil
}

// names sets a field's names or flags; their numbers must be ones that it can have.
func (b *builder) names(f *fieldPart, out *link.Field, path string) *strict.Error {
	list, key := f.Names, "names"
	least, most := span(out.Bits, out.Signed)
	if out.Flags {
		list, key, least, most = f.Flags, "flags", 0, int64(out.Bits-1)
	}
	for _, n := range list {
		if n.number < least || n.number > most {
			return b.nameOutside(path+"."+key, n.number, fmt.Sprintf("%d to %d", least, most))
		}
		out.Names = append(out.Names, link.Named{Number: n.number, Name: string(n.name)})
	}
	return nil
}

// nameOutside is the error at the key of a number, however it is written.
func (b *builder) nameOutside(path string, number int64, expected string) *strict.Error {
	for _, key := range b.Value(path).Keys {
		if v, _ := key.Integer(); v == number {
			return b.WrongAt(key, strict.Join(path, key.Text), expected, key.Text)
		}
	}
	return b.Wrong(path, expected, fmt.Sprint(number))
}

// span is the numbers that bits can hold, as far as int64 goes.
func span(bits int, signed bool) (least, most int64) {
	switch {
	case signed && bits == 64:
		return math.MinInt64, math.MaxInt64
	case signed:
		return -1 << (bits - 1), 1<<(bits-1) - 1
	case bits >= 63:
		return 0, math.MaxInt64
	}
	return 0, 1<<bits - 1
}

// Temperatures that a table may have, in degC.
const coldest, hottest = -200, 1000

func (b *builder) thermistor(t *thermistorPart, path string) (*link.Thermistor, *strict.Error) {
	out := &link.Thermistor{R25: t.R25, Beta: t.Beta, Pull: t.Pull, Full: t.Full, PullDown: t.PullDown}
	table := b.Has(path + ".points")
	for _, key := range []string{"r25", "beta"} {
		if b.Has(path+"."+key) && table {
			return nil, b.WrongKey(path+"."+key, "no "+key+" beside points", "both")
		}
		if !b.Has(path+"."+key) && !table {
			return nil, b.Wrong(path, "r25 and beta, or points", "no "+key)
		}
	}
	for i, p := range t.Points {
		at := fmt.Sprintf("%s.points[%d]", path, i)
		point := link.Point{DegC: p[0], Ohm: p[1]}
		switch {
		case point.DegC < coldest || point.DegC > hottest:
			return nil, b.Wrong(at+"[0]", fmt.Sprintf("%d to %d", coldest, hottest), strict.Number(point.DegC))
		case i > 0 && point.DegC <= out.Points[i-1].DegC:
			return nil, b.Wrong(at+"[0]", "a higher temperature than "+strict.Number(out.Points[i-1].DegC), strict.Number(point.DegC))
		case point.Ohm < 1e-3 || point.Ohm > 1e12:
			return nil, b.Wrong(at+"[1]", "0.001 to 1e+12", strict.Number(point.Ohm))
		case i > 0 && point.Ohm == out.Points[i-1].Ohm,
			i > 1 && (point.Ohm > out.Points[i-1].Ohm) != (out.Points[1].Ohm > out.Points[0].Ohm):
			return nil, b.Wrong(at+"[1]", "resistances that all fall or all rise", strict.Number(point.Ohm))
		}
		out.Points = append(out.Points, point)
	}
	return out, nil
}
