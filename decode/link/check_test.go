package link_test

import (
	"strings"
	"testing"

	"linewitness/capture"
	"linewitness/decode/link"
)

type (
	profile = link.Profile
	framing = link.Framing
	shape   = link.Shape
)

// Each contradiction by itself, on a profile that has none.
func TestCheck(t *testing.T) {
	t.Parallel()
	sound := func() *link.Profile {
		return &link.Profile{Name: "50% wet", Line: line9600, Framing: link.Framing{Gap: 0.01, Inside: 0.005, Start: marks(0x7E),
			End: marks(0x7E), After: 1,
			Coding: link.CodingEscape, Escape: link.Escape{Mark: 0x7D, Xor: 0x20}, Length: &link.Length{At: 1}}, Checksum: sum(t, "sum8", 1, -1),
			Controller: capture.Indoor, Responder: capture.Outdoor,
			Shapes: []link.Shape{{Name: "ask", Length: 9, Answers: []string{"state"}, Match: []link.Match{{At: -3, Mask: 0xF0, Value: 0x10}},
				Fields: []link.Field{{Name: "coil", At: 2, Curve: &link.Thermistor{Points: []link.Point{{0, 300}, {10, 200}, {20, 100}},
					Pull: 1, Full: 255}},
					{Name: "mode", At: 3, Names: []link.Named{{Number: 1, Name: "cool"}}}, {Name: "faults", At: 4, Bits: 4, Flags: true,
						Names: []link.Named{{Number: 3, Name: "fan"}}}}},
				{Name: "state"}},
			Address: &link.Address{Names: []link.Unit{{Value: 1, Name: "a"}, {Value: 2, Name: "b"}}}}
	}
	if err := sound().Check(); err != nil {
		t.Fatalf("sound: %v", err)
	}
	for _, c := range []struct {
		want string
		spot func(p *profile, f *framing, s *shape)
	}{
		{"silences: 0.02 s inside a frame, 0.01 s end one", func(p *profile, f *framing, s *shape) {
			f.Inside = 0.02
		}},
		{"a length character and a fixed length", func(p *profile, f *framing, s *shape) {
			f.Fixed, s.Length = 9, 0
		}},
		{"fixed: 2 characters, of which 3 are marks", func(p *profile, f *framing, s *shape) {
			f.Fixed, f.Length = 2, nil
		}},
		{"after: 1 characters behind an end mark of 0", func(p *profile, f *framing, s *shape) {
			f.End = nil
		}},
		{"modbus has framing of its own", func(p *profile, f *framing, s *shape) {
			f.Modbus = true
		}},
		{"marks: 0x17e takes more than the 8 bits of a character", func(p *profile, f *framing, s *shape) {
			f.Start = marks(0x17E)
		}},
		{"length: it counts nothing known (3)", func(p *profile, f *framing, s *shape) {
			f.Length = &link.Length{At: 1, Counts: 3}
		}},
		{"length: octet 0 stands in the marks", func(p *profile, f *framing, s *shape) {
			f.Length = &link.Length{}
		}},
		{"coding: nothing known (3)", func(p *profile, f *framing, s *shape) {
			f.Coding = 3
		}},
		{"coding: the mark 0x41 is a digit", func(p *profile, f *framing, s *shape) {
			f.Coding, f.End = link.CodingHex, marks('A')
		}},
		{"coding: a fixed length of 10 characters leaves half an octet", func(p *profile, f *framing, s *shape) {
			f.Coding, f.Fixed, f.Length, s.Length = link.CodingHex, 10, nil, 0
		}},
		{"escape: 0x7e is a mark too", func(p *profile, f *framing, s *shape) {
			f.Escape.Mark = 0x7E
		}},
		{"escape: 0x7d behind it would look like a mark", func(p *profile, f *framing, s *shape) {
			f.Escape.Xor = 3
		}},
		{"a checksum, and none", func(p *profile, f *framing, s *shape) {
			p.NoChecksum = true
		}},
		{"checksum: no rule", func(p *profile, f *framing, s *shape) {
			p.Checksum.Sum = nil
		}},
		{"checksum: it does not suit a frame of 4 octets", func(p *profile, f *framing, s *shape) {
			f.Coding, f.Length, f.Fixed, s.Length, p.Checksum.At = 0, nil, 4, 0, -5
		}},
		{"frame state: two have this name", func(p *profile, f *framing, s *shape) {
			s.Name = "state"
		}},
		{"frame ask: no frame is called answer, which should answer it", func(p *profile, f *framing, s *shape) {
			s.Answers = []string{"answer"}
		}},
		{"frame ask: 9 octets, every frame has 12", func(p *profile, f *framing, s *shape) {
			f.Coding, f.Length, f.Fixed = 0, nil, 12
		}},
		{"frame ask: 9 octets are too few", func(p *profile, f *framing, s *shape) {
			s.Constant = make([]byte, 10)
		}},
		{"frame ask: octet -10 is outside it", func(p *profile, f *framing, s *shape) {
			s.Match[0].At = -10
		}},
		{"frame ask: octet -3 under mask 0xf0 can't be 0x11", func(p *profile, f *framing, s *shape) {
			s.Match[0].Value = 0x11
		}},
		{"frame ask, field coil: two have this name", func(p *profile, f *framing, s *shape) {
			s.Fields[1].Name = "coil"
		}},
		{"frame ask, field mode: bits 1 to 8 of 0 octets", func(p *profile, f *framing, s *shape) {
			s.Fields[1].Bit, s.Fields[1].Bits, s.Fields[1].Names = 1, 8, nil
		}},
		{"frame ask, field mode: outside the frame", func(p *profile, f *framing, s *shape) {
			s.Fields[1].At = 9
		}},
		{"frame ask, field mode: two names of 1", func(p *profile, f *framing, s *shape) {
			s.Fields[1].Names = []link.Named{{1, "a"}, {1, "b"}}
		}},
		{"frame ask, field mode: it has no 256 to be called far", func(p *profile, f *framing, s *shape) {
			s.Fields[1].Names = []link.Named{{256, "far"}}
		}},
		{"frame ask, field faults: it has no 4 to be called far", func(p *profile, f *framing, s *shape) {
			s.Fields[2].Names[0] = link.Named{4, "far"}
		}},
		{"frame ask, field coil: a divider of 0 ohm and 255 at full supply", func(p *profile, f *framing, s *shape) {
			s.Fields[0].Curve.Pull = 0
		}},
		{"frame ask, field coil: points: 0 degC, 200 ohm does not follow", func(p *profile, f *framing, s *shape) {
			s.Fields[0].Curve.Points[1].DegC = 0
		}},
		{"frame ask, field coil: points: 200 ohm at 20 degC: the table turns", func(p *profile, f *framing, s *shape) {
			s.Fields[0].Curve.Points[2].Ohm = 200
		}},
		{"frame ask, field coil: a thermistor of 0 ohm and beta 0", func(p *profile, f *framing, s *shape) {
			s.Fields[0].Curve.Points = nil
		}},
		{"frame ask, field coil: 3 points, R25 1, beta 0: points of a table, or the other two", func(p *profile, f *framing, s *shape) {
			s.Fields[0].Curve.R25 = 1
		}},
		{"roles: indoor is both", func(p *profile, f *framing, s *shape) {
			p.Responder = capture.Indoor
		}},
		{"address: two units are 0x1 or called b", func(p *profile, f *framing, s *shape) {
			p.Address.Names[1].Value = 1
		}},
	} {
		p := sound()
		c.spot(p, &p.Framing, &p.Shapes[0])
		if err, want := p.Check(), "profile 50% wet: "+c.want; err == nil || strings.Split(err.Error(), "\n")[0] != want {
			t.Errorf("got %v, want %s", err, want)
		}
	}
}
