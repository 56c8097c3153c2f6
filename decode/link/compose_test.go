package link_test

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"linewitness/capture"
	"linewitness/decode/link"
	"linewitness/decode/uart"
)

// Published frames, put together by their rules (sources at TestPublishedFrames).
func TestComposePublished(t *testing.T) {
	t.Parallel()
	read := func(at int) link.Shape {
		return link.Shape{Name: "read", Match: []link.Match{{At: at + 1, Mask: 0xFF, Value: 3}},
			Fields: []link.Field{{Name: "unit", At: at}, {Name: "first", At: at + 2, Octets: 2}, {Name: "count", At: at + 4, Octets: 2}}}
	}
	rtu, ascii, bus, soh, short, long := link.ModbusRTU(line9600), modbusASCII(t), lin(t, 2), blockCheck(t), ft12(t, false), ft12(t, true)
	rtu.Shapes, ascii.Shapes = []link.Shape{read(0)}, []link.Shape{read(1)}
	bus.Shapes = []link.Shape{{Name: "four", Length: 8, Match: []link.Match{{At: 2, Mask: 0xFF, Value: 0x50}},
		Fields: []link.Field{{Name: "data", At: 3, Octets: 4}}}}
	soh.Shapes = []link.Shape{{Name: "break", Length: 5, Constant: []byte("\x01B0")}}
	short.Shapes = []link.Shape{{Name: "reset", Fields: []link.Field{{Name: "control", At: 1}, {Name: "unit", At: 2}}}}
	long.Shapes = []link.Shape{{Name: "data", Length: 9, Constant: octets(t, "680303685301"), Fields: []link.Field{{Name: "kind", At: 6}}}}
	for _, c := range []struct {
		p    *link.Profile
		set  map[string]int64
		want string
	}{
		{rtu, map[string]int64{"unit": 0x11, "first": 0x7C, "count": 2}, "1103007C00020743"},
		{rtu, map[string]int64{"unit": 0x11, "first": 0x6B, "count": 3}, "1103006B00037687"},
		{ascii, map[string]int64{"unit": 0xFF, "first": 0x7C, "count": 2}, text(":FF03007C000280\r\n")},
		{bus, map[string]int64{"data": 0x4A5593E5}, "0055504A5593E596"},
		{soh, nil, text("\x01B0\x03q")},
		{short, map[string]int64{"control": 0x5B, "unit": 1}, "105B015C16"},
		{long, map[string]int64{"kind": 0x50}, "68030368530150A416"},
	} {
		got, err := c.p.Compose([]uint16{0x1FF}, 0, c.set)
		if want := append([]uint16{0x1FF}, characters(t, c.want)...); err != nil || !slices.Equal(got, want) {
			t.Errorf("%s: got %X (%v), want %X", c.p.Name, got, err, want)
		}
	}
}

// What cannot be put together is an error, and dst stays as it was.
func TestComposeRefuses(t *testing.T) {
	t.Parallel()
	p := &link.Profile{Line: sevenEven, Checksum: sum(t, "sum8", 1, -1), Framing: link.Framing{Gap: handGap, Start: marks(2),
		End: marks(3), After: 1},
		Shapes: []link.Shape{
			{Name: "one", Match: []link.Match{{At: 1, Mask: 0xFF, Value: 1}}, Fields: []link.Field{{Name: "n", At: 2}, {Name: "kind", At: 1}}},
			{Name: "two", Length: 3, Fields: []link.Field{{Name: "far", At: 3, Octets: 2}}},
			{Name: "same", Match: []link.Match{{At: 1, Mask: 0xFF, Value: 1}}, Length: 5},
		}}
	for _, c := range []struct {
		shape int
		set   map[string]int64
		want  string
	}{
		{-1, nil, "compose: no shape -1 of 3"},
		{3, nil, "compose: no shape 3 of 3"},
		{0, map[string]int64{"z": 1, "m": 1, "n": 1}, `compose one: it has no field "m"`},
		{0, map[string]int64{"n": 256}, "compose one: field n: 256 takes more than its 8 bits"},
		{0, map[string]int64{"n": 3}, "compose one: its content has the end mark at character 2"},
		{0, map[string]int64{"n": 0x7C}, "compose one: 0x80 takes more than the 7 bits of a character"},
		{0, map[string]int64{"kind": 2}, "compose one: it would not have its own shape"},
		{1, map[string]int64{"far": 2}, "compose two: field far: outside a frame of 3 octets"},
		{2, nil, "compose same: it would be taken for one"},
	} {
		got, err := p.Compose([]uint16{9}, c.shape, c.set)
		if err == nil || err.Error() != c.want || !slices.Equal(got, []uint16{9}) {
			t.Errorf("shape %d of %v: got %v, %v, want %s", c.shape, c.set, got, err, c.want)
		}
	}
}

// What Compose makes, the cutter cuts into exactly one good frame of that shape, and Dissect gives the numbers back; two in one
// burst are two frames wherever frames say where they end.
func TestComposedFramesComeBack(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		p := draw(t)
		if err := p.Check(); err != nil {
			t.Fatalf("%+v: %v", p.Framing, err)
		}
		shape := rapid.IntRange(0, len(p.Shapes)-1).Draw(t, "shape")
		set, want := numbers(t, &p.Shapes[shape])
		line, err := p.Compose(nil, shape, set)
		f := &p.Framing
		if err != nil {
			if f.Coding == link.CodingPlain && f.Fixed == 0 && f.Length == nil && len(f.End) > 0 && strings.Contains(err.Error(),
				"its content has the end mark") {
				return
			}
			t.Fatal(err)
		}
		ends := f.Fixed > 0 || f.Length != nil || len(f.End) > 0 || f.Break
		for n := 1; n == 1 || n == 2 && ends; n++ {
			chars, b := byHand(slices.Repeat(line, n)...)
			for i := 0; f.Break && i < n; i++ {
				chars.Chars[i*len(line)].Fault = uart.FaultBreak | uart.FaultStop
			}
			frames := cutByHand(p, &chars, &b)
			if len(frames) != n {
				t.Fatalf("%+v: %d of %X: got %s", *f, n, line, shown(frames))
			}
			for i := range frames {
				if got := &frames[i]; !got.OK() || got.Shape != shape || !slices.Equal(got.Values, line) {
					t.Fatalf("%+v: %X: got %s of shape %d, want %d", *f, line, shown(frames), got.Shape, shape)
				}
				if got := p.Dissect(nil, frames[i].Octets, shape); !slices.Equal(got, want) {
					t.Fatalf("%X: got %v, want %v", frames[i].Octets, got, want)
				}
			}
		}
	})
}

// An invented frame of the heron's loop, by hand: template, numbers, sum.
func TestComposeByHand(t *testing.T) {
	t.Parallel()
	p := &link.Profile{Name: "heron", Line: line9600, Framing: link.Framing{Gap: handGap}, Checksum: sum(t, "sum8", 0, -1),
		Shapes: []link.Shape{{Name: "ask", From: capture.Indoor, Length: 6, Constant: []byte{0x20, 0x10}, Match: []link.Match{{At: 1,
			Mask: 0xFF, Value: 0x10}},
			Fields: []link.Field{{Name: "room temperature", At: 3, Scale: 0.5, Offset: -10, Unit: "degC"}, {Name: "mode", At: 4, Bits: 3},
				{Name: "fan", At: 4, Bit: 4, Bits: 2}}}}}
	n, err := p.Shapes[0].Fields[0].NumberFor(21)
	if err != nil {
		t.Fatal(err)
	}
	got, err := p.Compose(nil, 0, map[string]int64{"room temperature": n, "mode": 2, "fan": 3})
	if want := []uint16{0x20, 0x10, 0x00, 62, 0x32, 0xA0}; err != nil || !slices.Equal(got, want) {
		t.Errorf("got %X (%v), want %X", got, err, want)
	}
}
