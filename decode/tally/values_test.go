package tally_test

import (
	"math"
	"testing"

	"linewitness/capture"
	"linewitness/decode/link"
	"linewitness/decode/tally"
)

// Numbers of good frames of a known kind are folded in the field's unit; names and flags are counted; an open sensor is
// no value.
func TestValues(t *testing.T) {
	p := &link.Profile{Shapes: []link.Shape{{Name: "state", Fields: []link.Field{
		{Name: "air", At: 1, Scale: 0.5, Offset: -10, Unit: "degC"},
		{Name: "mode", At: 2, Bits: 4, Names: []link.Named{{Number: 0, Name: "off"}, {Number: 2, Name: "heat"}}},
		{Name: "faults", At: 2, Bit: 4, Bits: 4, Flags: true, Names: []link.Named{{Number: 0, Name: "fan"}, {Number: 3, Name: "coil"}}},
		{Name: "coil", At: 3, Curve: &link.Thermistor{R25: 10000, Beta: 3435, Pull: 10000, Full: 255}},
		{Name: "far", At: 9},
	}}}}
	v := tally.NewValues(p)
	for i, f := range []link.Frame{
		{Shape: 0, Octets: []byte{1, 40, 0x12, 128}, Side: capture.Indoor},
		{Shape: 0, Octets: []byte{1, 60, 0x90, 255}, Side: capture.Indoor},
		{Shape: 0, Octets: []byte{1, 50, 0x82, 127}, Side: capture.Indoor},
		{Shape: 0, Octets: []byte{1, 99, 0x82, 127}, Why: link.WhyChecksum},
		{Shape: -1, Octets: []byte{9, 99, 0x82, 127}},
	} {
		f.At = capture.Tick(i)
		v.Add(&f)
	}
	all := v.All()
	if len(all) != 4 {
		t.Fatalf("%d fields, want the 4 that the frames have: %+v", len(all), all)
	}
	if a := all[0]; a.N != 3 || a.First != 10 || a.Last != 15 || a.Low != 10 || a.High != 20 || a.Unit != "degC" || a.LastAt != 2 || a.Side != capture.Indoor {
		t.Errorf("air: %+v", a)
	}
	if m := all[1].Names; m[0].N != 1 || m[1].N != 2 || m[1].LastAt != 2 {
		t.Errorf("mode: %+v", m)
	}
	if m := all[2].Names; m[0].N != 2 || m[1].N != 2 {
		t.Errorf("faults: %+v", m)
	}
	if c := all[3]; c.N != 3 || c.Unread != 1 || math.Abs(c.First-25) > 0.25 || c.Unit != "degC" {
		t.Errorf("coil: %+v", c)
	}
	all[1].Names[0].N = 7
	if v.All()[1].Names[0].N != 1 {
		t.Error("what was handed out is not a copy")
	}
}
