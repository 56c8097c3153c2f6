package linkfile_test

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"linewitness/capture"
	"linewitness/decode/checksum"
	"linewitness/decode/link"
	"linewitness/decode/link/linkfile"
	"linewitness/decode/uart"
)

var (
	anySide = rapid.SampledFrom([]capture.Side{capture.SideUnknown, capture.Indoor, capture.Outdoor, capture.SideA, capture.SideB})
	anyName = rapid.OneOf(rapid.StringMatching(`[A-Za-z][a-z ]{0,8}[a-z]`), rapid.StringMatching(`[!-~é€\x{1F600}]{1,12}`),
		rapid.SampledFrom([]string{"off", "true", "null", "~", "1", "0x10", "1e3", "N", "- a", "a: b", "# a", "a #b", "{", "*a", "&a", "!a", "'", `"`, `\`, "%", "@", "a, b", "8E1", ".inf", "<<", "---", "..."}))
	anySeconds = rapid.OneOf(rapid.Just(0.), rapid.Float64Range(1e-9, 59), rapid.Map(rapid.IntRange(0, 50000), func(i int) float64 { return float64(i) / 1000 }))
	anySpec    = rapid.Custom(func(t *rapid.T) *checksum.Spec {
		sum, err := checksum.Parse(rapid.SampledFrom([]string{"sum8", "xor8 init=0x55", "fletcher16", "crc8 poly=0x07 init=0x00 refin=false refout=false xorout=0x00",
			"crc16 poly=0x8005 init=0xFFFF refin=true refout=true xorout=0x0000", "crc16 poly=0x1235 init=0x0000 refin=true refout=false xorout=0x0001"}).Draw(t, "sum"))
		if err != nil {
			t.Fatal(err)
		}
		s := &checksum.Spec{Sum: sum, From: rapid.IntRange(0, 3).Draw(t, "from"), At: -rapid.IntRange(sum.Size(), 4).Draw(t, "at")}
		s.To = s.At
		if sum.Size() == 2 && rapid.Bool().Draw(t, "little") {
			s.Order = checksum.Little
		}
		return s
	})
)

// distinct draws up to most names, none twice.
func distinct(t *rapid.T, what string, most int) []string {
	return rapid.SliceOfNDistinct(anyName, 0, most, rapid.ID[string]).Draw(t, what)
}

func anyLine(t *rapid.T) uart.Line {
	f := uart.Format{DataBits: uint8(rapid.IntRange(5, 9).Draw(t, "bits")), Parity: uart.Parity(rapid.IntRange(0, 4).Draw(t, "parity")),
		StopHalfs: uint8(rapid.IntRange(2, 4).Draw(t, "stop"))}
	return uart.Line{Speed: rapid.OneOf(rapid.Just(1200.), rapid.Float64Range(1, 1e7)).Draw(t, "speed"), Format: f, Inverted: rapid.Bool().Draw(t, "inverted")}
}

func anyFraming(t *rapid.T, l uart.Line) link.Framing {
	f := link.Framing{Gap: anySeconds.Draw(t, "gap")}
	char := l.Format.Length() / l.Speed
	if n := rapid.IntRange(0, 8).Draw(t, "characters"); n > 0 && float64(n)/2*char < 60 {
		f.Gap = float64(n) / 2 * char
	}
	f.Inside = f.Gap * rapid.Float64Range(0, 1).Draw(t, "inside")
	if f.Modbus = rapid.Bool().Draw(t, "modbus"); f.Modbus {
		return f
	}
	mark := rapid.SliceOfN(rapid.Uint16Range(0, 1<<l.Format.DataBits-2), 0, 3)
	f.Start, f.End, f.Break = mark.Draw(t, "start"), mark.Draw(t, "end"), rapid.Bool().Draw(t, "break")
	if len(f.End) > 0 {
		f.After = rapid.IntRange(0, 255).Draw(t, "after")
	}
	switch rapid.IntRange(0, 2).Draw(t, "rule") {
	case 0:
		f.Fixed = rapid.IntRange(300, 4096).Draw(t, "fixed")
	case 1:
		f.Length = &link.Length{At: rapid.IntRange(0, 255).Draw(t, "at"), Counts: link.Counts(rapid.IntRange(0, 2).Draw(t, "counts")),
			Add: rapid.IntRange(-255, 255).Draw(t, "add")}
	}
	switch {
	case l.Format.DataBits >= 7 && rapid.Bool().Draw(t, "hex"):
		f.Coding = link.CodingHex
	case l.Format.DataBits <= 8 && rapid.Bool().Draw(t, "escape"): // no mark holds the highest character
		f.Coding, f.Escape = link.CodingEscape, link.Escape{Mark: byte(1<<l.Format.DataBits - 1), Xor: byte(rapid.IntRange(0, 1<<l.Format.DataBits-1).Draw(t, "xor"))}
	}
	return f
}

func anyField(t *rapid.T, name string) link.Field {
	f := link.Field{Name: name, Octets: rapid.IntRange(1, 8).Draw(t, "octets"), Order: checksum.Order(rapid.IntRange(0, 1).Draw(t, "order")), Scale: 1}
	f.At = rapid.OneOf(rapid.IntRange(0, 12), rapid.IntRange(-20, -f.Octets)).Draw(t, "at")
	f.Bit = rapid.IntRange(0, 8*f.Octets-1).Draw(t, "bit")
	f.Bits = rapid.IntRange(1, 8*f.Octets-f.Bit).Draw(t, "bits")
	list := func(least, most int64) {
		for _, n := range rapid.SliceOfNDistinct(rapid.Int64Range(least, most), 1, 2, rapid.ID[int64]).Draw(t, "numbers") {
			f.Names = append(f.Names, link.Named{Number: n, Name: anyName.Draw(t, "name")})
		}
		if len(f.Names) == 2 && f.Names[0].Number > f.Names[1].Number {
			f.Names[0], f.Names[1] = f.Names[1], f.Names[0]
		}
	}
	switch rapid.IntRange(0, 4).Draw(t, "sort") {
	case 0:
		f.Flags = true
		list(0, int64(f.Bits-1))
	case 1:
		f.Curve, f.Unit = anyCurve(t), "degC"
	case 2:
		f.Counter = true
	case 3:
		f.Signed = rapid.Bool().Draw(t, "signed")
		least, most := int64(0), int64(math.MaxInt64)
		if f.Bits < 63 {
			most = 1<<f.Bits - 1
		}
		if f.Signed {
			least, most = -1<<(f.Bits-1), 1<<(f.Bits-1)-1
		}
		list(least, most)
		fallthrough
	case 4:
		f.Scale = rapid.OneOf(rapid.Float64Range(1e-30, 1e30), rapid.Float64Range(-1e30, -1e-30)).Draw(t, "scale")
		f.Offset = rapid.Float64Range(-1e9, 1e9).Draw(t, "offset") + 0
		f.Unit = rapid.SampledFrom([]string{"", "V", "%", "1/min", "degC"}).Draw(t, "unit")
	}
	return f
}

func anyCurve(t *rapid.T) *link.Thermistor {
	ohm := rapid.Float64Range(1e-3, 1e12)
	c := &link.Thermistor{Pull: ohm.Draw(t, "pull"), Full: rapid.Float64Range(1, 1e18).Draw(t, "full"), PullDown: rapid.Bool().Draw(t, "down")}
	if rapid.Bool().Draw(t, "beta") {
		c.R25, c.Beta = ohm.Draw(t, "r25"), rapid.Float64Range(1, 1e5).Draw(t, "b")
		return c
	}
	for i := range rapid.IntRange(2, 20).Draw(t, "points") {
		c.Points = append(c.Points, link.Point{DegC: -50 + 10*float64(i) + rapid.Float64Range(0, 9).Draw(t, "t"), Ohm: 1e6 / float64(i+1)})
	}
	return c
}

func anyShapes(t *rapid.T, fixed int) (shapes []link.Shape) {
	list := distinct(t, "shapes", 4)
	for _, name := range list {
		s := link.Shape{Name: name, From: anySide.Draw(t, "from"), Length: rapid.SampledFrom([]int{0, 20, 4096}).Draw(t, "length"), Start: rapid.Bool().Draw(t, "start")}
		if fixed > 0 {
			s.Length = rapid.SampledFrom([]int{0, fixed}).Draw(t, "fixed")
		}
		if rapid.Bool().Draw(t, "asks") {
			s.Answers = []string{rapid.SampledFrom(list).Draw(t, "answer")}
		}
		s.Constant = rapid.SliceOfN(rapid.Byte(), 0, 3).Draw(t, "template")
		for range rapid.IntRange(0, 3).Draw(t, "matches") {
			mask := rapid.ByteRange(1, 255).Draw(t, "mask")
			s.Match = append(s.Match, link.Match{At: rapid.OneOf(rapid.IntRange(3, 19), rapid.IntRange(-20, -1)).Draw(t, "at"), Mask: mask, Value: mask & rapid.Byte().Draw(t, "value")})
		}
		for _, name := range distinct(t, "fields", 3) {
			s.Fields = append(s.Fields, anyField(t, name))
		}
		shapes = append(shapes, s)
	}
	return shapes
}

func anyProfile(t *rapid.T) *link.Profile {
	p := &link.Profile{Name: anyName.Draw(t, "name"), Invented: rapid.Bool().Draw(t, "invented"), Line: anyLine(t),
		Kind: rapid.SampledFrom([]link.Kind{link.Loop3, link.TwoWire, link.Logic}).Draw(t, "kind"),
		Feed: anySide.Draw(t, "feed"), Note: rapid.SampledFrom([]string{"", "two\nlines\n", " blank", "tab\there", "é"}).Draw(t, "note")}
	p.Supply = link.Supply{Volts: rapid.Float64Range(-1000, 1000).Draw(t, "volts") + 0, HalfWave: rapid.Bool().Draw(t, "half"),
		Reference: rapid.SampledFrom([]string{"", "N", "S"}).Draw(t, "reference")}
	p.Framing = anyFraming(t, p.Line)
	switch rapid.IntRange(0, 2).Draw(t, "guard") {
	case 0:
		p.Checksum = anySpec.Draw(t, "spec")
	case 1:
		p.NoChecksum = true
	}
	p.Timing = link.Timing{PollPeriod: anySeconds.Draw(t, "poll"), TurnaroundMin: anySeconds.Draw(t, "least"), TwoTalkers: rapid.Bool().Draw(t, "two"),
		Retries: rapid.IntRange(0, 9).Draw(t, "retries"), RetryAfter: anySeconds.Draw(t, "retry"), SlowPeriod: anySeconds.Draw(t, "slow"),
		SlowAfter: anySeconds.Draw(t, "after"), FaultAfter: anySeconds.Draw(t, "fault")}
	p.Timing.TurnaroundMax = p.Timing.TurnaroundMin + anySeconds.Draw(t, "most")
	p.Controller, p.Responder = anySide.Draw(t, "controller"), anySide.Draw(t, "responder")
	if p.Controller == p.Responder {
		p.Responder = capture.SideUnknown
		p.Controller = capture.SideA
	}
	if rapid.Bool().Draw(t, "addressed") {
		p.Address = &link.Address{At: rapid.IntRange(-9, 9).Draw(t, "address")}
		for i, name := range distinct(t, "units", 3) {
			p.Address.Names = append(p.Address.Names, link.Unit{Value: byte(i * 80), Name: name, Side: anySide.Draw(t, "side")})
		}
	}
	fixed := 0
	if p.Framing.Coding == link.CodingPlain {
		fixed = p.Framing.Fixed
	}
	p.Shapes = anyShapes(t, fixed)
	return p
}

// same compares profiles; a list of no length is one that isn't there.
func same(want, got *link.Profile) string {
	empty := cmp.FilterPath(func(path cmp.Path) bool { _, ok := path.Last().(cmp.StructField); return ok },
		cmp.FilterValues(func(a, b any) bool { return fmt.Sprintf("%v", a) == "[]" && fmt.Sprintf("%v", b) == "[]" }, cmp.Ignore()))
	return cmp.Diff(want, got, sums, empty)
}

func TestWriteThenRead(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := anyProfile(t)
		var out bytes.Buffer
		if err := linkfile.Write(&out, p); err != nil {
			t.Fatal(err)
		}
		got, err := linkfile.Read("p.yaml", out.Bytes())
		if err != nil {
			t.Fatalf("%v\n%s", err, out.Bytes())
		}
		if d := same(p, got); d != "" {
			t.Fatalf("(-want +got)\n%s\n%s", d, out.Bytes())
		}
	})
}

func TestWriteRefuses(t *testing.T) {
	good := func() *link.Profile {
		return &link.Profile{Name: "x", Kind: link.Logic, Line: uart.Line{Speed: 9600, Format: uart.Format{DataBits: 8, StopHalfs: 2}}}
	}
	for name, change := range map[string]func(p *link.Profile){
		"kind":           func(p *link.Profile) { p.Kind = link.KindUnknown },
		"format":         func(p *link.Profile) { p.Line.Format = uart.Format{} },
		"speed":          func(p *link.Profile) { p.Line.Speed = 0 },
		"speed NaN":      func(p *link.Profile) { p.Line.Speed = math.NaN() },
		"control":        func(p *link.Profile) { p.Name = "a\x1b[2J" },
		"not UTF-8":      func(p *link.Profile) { p.Name = "a\xff" },
		"side":           func(p *link.Profile) { p.Controller = capture.Line },
		"lost escape":    func(p *link.Profile) { p.Framing.Escape.Mark = 1 },
		"both sums":      func(p *link.Profile) { p.NoChecksum, p.Checksum = true, &checksum.Spec{} },
		"doubled shapes": func(p *link.Profile) { p.Shapes = []link.Shape{{Name: "a"}, {Name: "a"}} },
		"number order": func(p *link.Profile) {
			p.Shapes = []link.Shape{{Name: "a", Fields: []link.Field{{Name: "f", Octets: 1, Bits: 8, Scale: 1, Names: []link.Named{{Number: 2, Name: "b"}, {Number: 1, Name: "a"}}}}}}
		},
		"retries": func(p *link.Profile) { p.Timing.Retries = -1 },
	} {
		p := good()
		var out bytes.Buffer
		if err := linkfile.Write(&out, p); err != nil {
			t.Fatal(err)
		}
		out.Reset()
		change(p)
		if err := linkfile.Write(&out, p); !errors.Is(err, linkfile.ErrUnsayable) || out.Len() > 0 {
			t.Errorf("%s: got %v and %d bytes", name, err, out.Len())
		}
	}
}

// What a recording shows of a link stands in no file.
func TestWriteLeavesOutTheRecording(t *testing.T) {
	p := link.ModbusRTU(uart.Line{Speed: 9600, Format: uart.Format{DataBits: 8, StopHalfs: 2}})
	var plain, learned bytes.Buffer
	if err := linkfile.Write(&plain, p); err != nil {
		t.Fatal(err)
	}
	p.Measured, p.Learned, p.Equivalent, p.Spaces, p.Either, p.Line.Mid = 9610, true, []string{"x"}, uart.Below, true, true
	p.Feed, p.FeedAssumed = capture.Outdoor, true
	if err := linkfile.Write(&learned, p); err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(plain.String(), learned.String()); d != "" {
		t.Errorf("(-want +got)\n%s", d)
	}
}
