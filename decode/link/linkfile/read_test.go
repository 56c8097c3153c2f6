package linkfile_test

import (
	"errors"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"linewitness/capture"
	"linewitness/decode/checksum"
	"linewitness/decode/link"
	"linewitness/decode/link/linkfile"
	"linewitness/decode/uart"
)

// sums compares algorithms by their words.
var sums = cmp.Comparer(func(a, b checksum.Sum) bool {
	return a == nil && b == nil || a != nil && b != nil && a.String() == b.String()
})

func heron(t testing.TB) string {
	t.Helper()
	data, err := os.ReadFile("testdata/heron.yaml")
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

func TestReadAll(t *testing.T) {
	sum, err := checksum.Parse("crc16 poly=0x8005 init=0xFFFF refin=true refout=true xorout=0x0000")
	if err != nil {
		t.Fatal(err)
	}
	want := &link.Profile{
		Name: "Heron loop", Note: "an invented link for tests", Invented: true, Kind: link.Loop3,
		Line:   uart.Line{Speed: 1200, Format: uart.Format{DataBits: 8, Parity: uart.ParityEven, StopHalfs: 2}},
		Feed:   capture.Outdoor,
		Supply: link.Supply{Volts: 36, Reference: "N"},
		Framing: link.Framing{Gap: 0.01, Inside: 0.005, Length: &link.Length{At: 2, Counts: link.CountsPayload}, Start: []uint16{0xAA, 0x55},
			End: []uint16{0x16}, After: 1, Coding: link.CodingEscape, Escape: link.Escape{Mark: 0x7D, Xor: 0x20}},
		Checksum: &checksum.Spec{Sum: sum, To: -2, At: -2, Order: checksum.Little},
		Timing: link.Timing{PollPeriod: 0.4, TurnaroundMin: 0.01, TurnaroundMax: 0.08, TwoTalkers: true, Retries: 2, RetryAfter: 0.3,
			SlowPeriod: 5, SlowAfter: 10, FaultAfter: 120},
		Controller: capture.Indoor, Responder: capture.Outdoor,
		Address: &link.Address{Names: []link.Unit{{Value: 0x20, Name: "living room", Side: capture.Indoor}}},
		Shapes: []link.Shape{{
			Name: "ask", From: capture.Indoor, Match: []link.Match{{At: 1, Mask: 0xFF, Value: 0x10}}, Length: 12, Answers: []string{"state"},
			Constant: []byte{0x20, 0x10, 0},
			Fields: []link.Field{
				{Name: "room temperature", At: 3, Octets: 1, Bits: 8, Scale: 0.5, Offset: -10, Unit: "degC"},
				{Name: "mode", At: 4, Octets: 1, Bits: 3, Scale: 1, Names: []link.Named{{Number: 0, Name: "off"}, {Number: 1, Name: "cool"}, {Number: 2, Name: "heat"}}},
				{Name: "faults", At: 5, Octets: 1, Bits: 8, Scale: 1, Flags: true, Names: []link.Named{{Number: 0, Name: "communication"}, {Number: 3, Name: "fan"}}},
				{Name: "coil", At: 6, Octets: 1, Bits: 8, Scale: 1, Unit: "degC", Curve: &link.Thermistor{R25: 10000, Beta: 3435, Pull: 10000, Full: 255}},
				{Name: "coil 2", At: 7, Octets: 1, Bits: 8, Scale: 1, Unit: "degC",
					Curve: &link.Thermistor{Points: []link.Point{{DegC: 0, Ohm: 27326}, {DegC: 25, Ohm: 10000}}, Pull: 10000, Full: 255}},
				{Name: "sequence", At: 2, Octets: 1, Bits: 8, Scale: 1, Counter: true},
			},
		}, {Name: "state", From: capture.Outdoor}},
	}
	got, err := linkfile.Read("heron.yaml", []byte(heron(t)))
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(want, got, sums); d != "" {
		t.Errorf("(-want +got)\n%s", d)
	}
}

const least = "schema: linewitness/profile/1\nname: Least\nkind: pair\n"

func TestReadDefaults(t *testing.T) {
	for _, c := range []struct {
		name, file string
		check      func(p *link.Profile) bool
	}{
		{"gap of 3.5 characters of 10 bits", "line: {speed_bd: 9600, format: 8N1}", func(p *link.Profile) bool { return p.Framing.Gap == 3.5*(10/9600.) }},
		{"gap in characters", "line: {speed_bd: 1000, format: 8N1}\nframing: {gap_characters: 2, inside_characters: 1}",
			func(p *link.Profile) bool { return p.Framing.Gap == 0.02 && p.Framing.Inside == 0.01 }},
		{"gap not known", "line: {speed_bd: 9600, format: 8N1}\nframing: {gap_ms: 0}", func(p *link.Profile) bool { return p.Framing.Gap == 0 }},
		{"milliseconds are exact", "line: {speed_bd: 9600, format: 8N1}\nframing: {gap_ms: 0.3}", func(p *link.Profile) bool { return p.Framing.Gap == 0.0003 }},
		{"no checksum", "line: {speed_bd: 9600, format: 8N1}\nchecksum: {rule: none}", func(p *link.Profile) bool { return p.NoChecksum && p.Checksum == nil }},
		{"unknown checksum", "line: {speed_bd: 9600, format: 8N1}\nchecksum: {rule: unknown}", func(p *link.Profile) bool { return !p.NoChecksum && p.Checksum == nil }},
		{"sum at the end", "line: {speed_bd: 9600, format: 8N1}\nchecksum: {rule: fletcher16}",
			func(p *link.Profile) bool { return p.Checksum.At == -2 && p.Checksum.To == -2 && p.Checksum.From == 0 }},
		{"nine bits", "line: {speed_bd: 9600, format: 9N1}\nframing: {start: 0120 01FF}",
			func(p *link.Profile) bool {
				return len(p.Framing.Start) == 2 && p.Framing.Start[0] == 0x120 && p.Framing.Start[1] == 0x1FF
			}},
		{"bits from bit on", "line: {speed_bd: 9600, format: 8N1}\nframes: [{name: f, fields: [{name: x, at: -2, octets: 2, bit: 3}]}]",
			func(p *link.Profile) bool { return p.Shapes[0].Fields[0].Bits == 13 }},
		{"names by number", "line: {speed_bd: 9600, format: 8N1}\nframes: [{name: f, fields: [{name: x, at: 0, names: {0x10: b, 2: \"1\", 9: off}}]}]",
			func(p *link.Profile) bool {
				return cmp.Equal(p.Shapes[0].Fields[0].Names, []link.Named{{Number: 2, Name: "1"}, {Number: 9, Name: "off"}, {Number: 16, Name: "b"}})
			}},
		{"a note of lines", "line: {speed_bd: 9600, format: 8N1}\nnote: |\n  one\n  two\n", func(p *link.Profile) bool { return p.Note == "one\ntwo\n" }},
		{"a quoted format", "line: {speed_bd: 9600, format: \"8E1\"}", func(p *link.Profile) bool { return p.Line.Format.Parity == uart.ParityEven }},
		{"a document's head", "line: {speed_bd: 1.2e3, format: 8N1}", func(p *link.Profile) bool { return p.Line.Speed == 1200 }},
	} {
		for _, dress := range []func(string) string{
			func(s string) string { return s },
			func(s string) string { return "\uFEFF# comment\n---\n" + s },
			func(s string) string { return strings.ReplaceAll(s, "\n", "\r\n") },
		} {
			p, err := linkfile.Read("p.yaml", []byte(dress(least+c.file)))
			if err != nil {
				t.Errorf("%s: %v", c.name, err)
				continue
			}
			if strings.Contains(dress("\n"), "\r") {
				p.Note = strings.ReplaceAll(p.Note, "\r\n", "\n")
			}
			if !c.check(p) {
				t.Errorf("%s: got %+v", c.name, p)
			}
		}
	}
}

func TestErrorHasPosition(t *testing.T) {
	_, err := linkfile.Read("heron.yaml", []byte(strings.Replace(heron(t), "bits: 3", "bits: 70", 1)))
	var e *linkfile.Error
	if !errors.As(err, &e) {
		t.Fatalf("got %v", err)
	}
	want := linkfile.Error{Name: "heron.yaml", Line: 32, Column: 35, Path: "frames[0].fields[1].bits", Expected: "1 to 64", Found: "70",
		Source: "      - {name: mode, at: 4, bits: 70, names: {0: off, 1: cool, 2: heat}}"}
	if d := cmp.Diff(want, *e); d != "" {
		t.Errorf("(-want +got)\n%s", d)
	}
	const text = `heron.yaml:32:35: frames[0].fields[1].bits: expected 1 to 64, found 70
      - {name: mode, at: 4, bits: 70, names: {0: off, 1: cool, 2: heat}}
                                  ^`
	if e.Error() != text {
		t.Errorf("got\n%s\nwant\n%s", e.Error(), text)
	}
}
