package link_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"linewitness/capture"
	"linewitness/decode/checksum"
	"linewitness/decode/link"
)

// Numbers of fields by hand: the octets are 12 34 56 78 9A BC DE F0.
func TestNumber(t *testing.T) {
	t.Parallel()
	b := []byte{0x12, 0x34, 0x56, 0x78, 0x9A, 0xBC, 0xDE, 0xF0}
	for _, c := range []struct {
		name string
		f    link.Field
		want int64
		ok   bool
	}{
		{"an octet", link.Field{At: 1, Octets: 1, Bits: 8}, 0x34, true},
		{"nothing said", link.Field{At: 1}, 0x34, true},
		{"from the end", link.Field{At: -1, Octets: 1}, 0xF0, true},
		{"high octet first", link.Field{At: 1, Octets: 2}, 0x3456, true},
		{"low octet first", link.Field{At: 1, Octets: 2, Order: checksum.Little}, 0x5634, true},
		{"three, low first", link.Field{At: 5, Octets: 3, Order: checksum.Little}, 0xF0DEBC, true},
		{"a nibble", link.Field{At: 2, Octets: 1, Bit: 4, Bits: 4}, 5, true},
		{"across octets", link.Field{At: 0, Octets: 2, Bit: 4, Bits: 8}, 0x23, true},
		{"the rest from a bit on", link.Field{At: 0, Octets: 2, Bit: 4}, 0x123, true},
		{"negative", link.Field{At: 4, Octets: 1, Signed: true}, 0x9A - 0x100, true},
		{"a negative nibble", link.Field{At: 4, Octets: 1, Bits: 4, Signed: true}, -6, true},
		{"eight octets", link.Field{At: 0, Octets: 8}, 0x123456789ABCDEF0, true},
		{"eight octets, low first, wrapped", link.Field{At: 0, Octets: 8, Order: checksum.Little}, -0x0F21436587A9CBEE, true},
		{"the last one too far", link.Field{At: 7, Octets: 2}, 0, false},
		{"before the frame", link.Field{At: -9, Octets: 1}, 0, false},
		{"over its end, from the end", link.Field{At: -1, Octets: 2}, 0, false},
		{"more bits than octets", link.Field{At: 0, Octets: 1, Bit: 4, Bits: 5}, 0, false},
		{"nine octets", link.Field{At: 0, Octets: 9}, 0, false},
	} {
		if got, ok := c.f.Number(b); got != c.want || ok != c.ok {
			t.Errorf("%s: got %#x %v, want %#x %v", c.name, got, ok, c.want, c.ok)
		}
	}
}

// Value and NumberFor by hand.
func TestValue(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name  string
		f     link.Field
		n     int64
		value float64
	}{
		{"half degrees from -10", link.Field{Octets: 1, Scale: 0.5, Offset: -10}, 61, 20.5},
		{"as it is", link.Field{Octets: 1}, 200, 200},
		{"signed tenths", link.Field{Octets: 2, Signed: true, Scale: 0.1}, -125, -12.5},
		{"falling", link.Field{Octets: 1, Scale: -1, Offset: 255}, 55, 200},
		{"all of 64 bits", link.Field{Octets: 8}, -1, math.Ldexp(1, 64)},
	} {
		if got := c.f.Value(c.n); math.Abs(got-c.value) > 1e-12 {
			t.Errorf("%s: value %g, want %g", c.name, got, c.value)
		}
		if c.n < 0 && !c.f.Signed {
			continue // no float64 is 2^64 - 1
		}
		if got, err := c.f.NumberFor(c.value + 0.2*c.f.Scale); err != nil || got != c.n {
			t.Errorf("%s: number %d (%v), want %d", c.name, got, err, c.n)
		}
	}
	for _, c := range []struct {
		f     link.Field
		value float64
	}{
		{link.Field{Octets: 1, Scale: 1}, 255.5}, {link.Field{Octets: 1, Scale: 1}, -0.6}, {link.Field{Octets: 1, Signed: true}, 128},
		{link.Field{Octets: 1, Bits: 3}, 8},
		{link.Field{Octets: 8}, math.Ldexp(1, 64)}, {link.Field{Octets: 8, Signed: true}, math.Ldexp(1, 63)}, {link.Field{Octets: 1},
			math.NaN()}, {link.Field{Octets: 1}, math.Inf(-1)},
	} {
		if n, err := c.f.NumberFor(c.value); err == nil {
			t.Errorf("%+v: %g became %d, want an error", c.f, c.value, n)
		}
	}
}

func TestNameOf(t *testing.T) {
	t.Parallel()
	f := link.Field{Names: []link.Named{{Number: 0, Name: "off"}, {Number: 2, Name: "heat"}}}
	if got, ok := f.NameOf(2); got != "heat" || !ok {
		t.Errorf("2: %q %v", got, ok)
	}
	if got, ok := f.NameOf(1); got != "" || ok {
		t.Errorf("1: %q %v", got, ok)
	}
}

// The number of a value is the one nearest to it, for every field: none has a value nearer.
func TestNumberForIsNearest(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		f := link.Field{Octets: rapid.IntRange(1, 4).Draw(t, "octets"), Signed: rapid.Bool().Draw(t, "signed"),
			Scale: float64(rapid.SampledFrom([]int{-3, -1, 1, 2, 7}).Draw(t, "scale")) / 8, Offset: float64(rapid.IntRange(-100, 100).Draw(t,
				"offset"))}
		value := rapid.Float64Range(-1000, 1000).Draw(t, "value")
		n, err := f.NumberFor(value)
		if err != nil {
			return
		}
		off := math.Abs(f.Value(n) - value)
		if off > math.Abs(f.Scale)/2*(1+1e-9) {
			t.Fatalf("%+v: %g became %d, which is %g", f, value, n, f.Value(n))
		}
	})
}

// Who sent a frame: the level says it first, then the shape, then the address.
func TestSideOfFrame(t *testing.T) {
	t.Parallel()
	p := &link.Profile{Feed: capture.Outdoor, Shapes: []link.Shape{{Name: "ask", From: capture.Indoor}, {Name: "any"}},
		Address: &link.Address{At: 0, Names: []link.Unit{{Value: 7, Side: capture.Outdoor}}}}
	three := *p
	three.Line.Mid = true
	for _, c := range []struct {
		name string
		p    *link.Profile
		f    link.Frame
		want capture.Side
	}{
		{"level", &three, link.Frame{Space: capture.Low, Shape: 0, Octets: []byte{7}}, capture.Outdoor},
		{"shape", p, link.Frame{Space: capture.Low, Shape: 0, Octets: []byte{7}}, capture.Indoor},
		{"address", p, link.Frame{Shape: 1, Octets: []byte{7}}, capture.Outdoor},
		{"address of a frame of no shape", p, link.Frame{Shape: -1, Octets: []byte{7}}, capture.Outdoor},
		{"another address", p, link.Frame{Shape: -1, Octets: []byte{8}}, capture.SideUnknown},
		{"too short", p, link.Frame{Shape: -1}, capture.SideUnknown},
	} {
		if got := c.p.SideOfFrame(&c.f); got != c.want {
			t.Errorf("%s: got %v, want %v", c.name, got, c.want)
		}
	}
}

func TestShapeOf(t *testing.T) {
	t.Parallel()
	p := &link.Profile{Shapes: []link.Shape{
		{Name: "ask", From: capture.Indoor, Length: 3, Match: []link.Match{{At: 1, Mask: 0xF0, Value: 0x10}}},
		{Name: "state", From: capture.Outdoor, Match: []link.Match{{At: -1, Mask: 0xFF, Value: 0x16}}},
	}}
	for _, c := range []struct {
		octets string
		side   capture.Side
		want   int
	}{
		{"001F00", capture.SideUnknown, 0}, {"001F00", capture.Indoor, 0}, {"001F00", capture.Outdoor, -1}, {"001F16", capture.Outdoor, 1},
		{"001F", capture.SideUnknown, -1}, {"16", capture.SideUnknown, 1}, {"", capture.SideUnknown, -1}, {"002F00", capture.SideUnknown, -1},
	} {
		if got := p.ShapeOf(octets(t, c.octets), c.side); got != c.want {
			t.Errorf("%s from %v: got %d, want %d", c.octets, c.side, got, c.want)
		}
	}
}
