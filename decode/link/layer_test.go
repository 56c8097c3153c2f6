package link_test

import (
	"errors"
	"slices"
	"testing"

	"github.com/google/gopacket"
	"github.com/google/gopacket/layers"

	"linewitness/capture"
	"linewitness/decode/link"
	"linewitness/decode/uart"
)

// user4 is the link type frames are written with as packets (pcapng link types, private use).
const user4 = layers.LinkType(151)

// packet is a frame's characters as a packet holds them.
func packet(v []uint16, wide bool) (b []byte) {
	for _, c := range v {
		if wide {
			b = append(b, byte(c>>8))
		}
		b = append(b, byte(c))
	}
	return b
}

// Packets are decoded by NewPacket: by link type alone as payload, by a profile's decoder taken apart.
func TestPacketsOfFrames(t *testing.T) {
	t.Parallel()
	data := packet(characters(t, text(":1103007C00026E\r\n")), false)
	bare := gopacket.NewPacket(data, user4, gopacket.Default)
	l, ok := bare.Layer(link.LayerTypeFrame).(*link.Layer)
	if !ok || bare.ErrorLayer() != nil || !slices.Equal(l.LayerPayload(), data) || l.Shape != -1 {
		t.Fatalf("without a profile: %v", bare)
	}
	p := modbusASCII(t)
	p.Shapes = []link.Shape{{Name: "read", Match: []link.Match{{At: 2, Mask: 0xFF, Value: 3}}, Length: 10,
		Fields: []link.Field{{Name: "first", At: 3, Octets: 2}}}}
	whole := gopacket.NewPacket(data, p.Decoder(), gopacket.Default)
	l, ok = whole.Layer(link.LayerTypeFrame).(*link.Layer)
	if !ok || whole.ErrorLayer() != nil {
		t.Fatalf("with a profile: %v", whole)
	}
	if !slices.Equal(l.Octets, octets(t,
		"3A1103007C00026E0D0A")) || string(l.LayerContents()) != ":" || !slices.Equal(l.LayerPayload(), octets(t, "1103007C0002")) {
		t.Errorf("octets %X, contents %X, payload %X", l.Octets, l.LayerContents(), l.LayerPayload())
	}
	if l.Why != 0 || l.Sum != 0x6E || l.Want != 0x6E || l.Shape != 0 {
		t.Errorf("why %v, sum %X, want %X, shape %d", l.Why.Names(), l.Sum, l.Want, l.Shape)
	}
	if got := p.Dissect(nil, l.Octets, l.Shape); len(got) != 1 || got[0].N != 0x7C {
		t.Errorf("numbers %v", got)
	}
	if app := whole.Layer(gopacket.LayerTypePayload); app == nil || !slices.Equal(app.LayerContents(), octets(t, "1103007C0002")) {
		t.Errorf("payload layer %v", app)
	}
}

// Characters of nine bits are two octets of a packet; a broken frame is gopacket's error layer, a short one truncated.
func TestPacketsBroken(t *testing.T) {
	t.Parallel()
	nine := &link.Profile{Line: uart.Line{Format: uart.Format{DataBits: 9, StopHalfs: 2}}, Framing: link.Framing{Start: marks(0x110),
		Fixed: 4}, Checksum: sum(t, "sum8", 1, -1)}
	for _, c := range []struct {
		name      string
		p         *link.Profile
		data      []byte
		want      link.Why
		truncated bool
	}{
		{"nine bits", nine, packet([]uint16{0x110, 1, 2, 3}, true), 0, false},
		{"nine bits, sum wrong", nine, packet([]uint16{0x110, 1, 2, 4}, true), link.WhyChecksum, false},
		{"nine bits, short", nine, packet([]uint16{0x110, 1, 1}, true), link.WhyLength, true},
		{"nine bits, half a character", nine, packet([]uint16{0x110, 1, 2, 3}, true)[:7], link.WhyLength | link.WhyChecksum, false},
		{"no digit", modbusASCII(t), packet(characters(t, text(":11x3007C00026E\r\n")), false), link.WhyLength, false},
		{"empty", modbusASCII(t), nil, link.WhyLength, true},
	} {
		got := gopacket.NewPacket(c.data, c.p.Decoder(), gopacket.NoCopy)
		var broken link.Broken
		if e := got.ErrorLayer(); e != nil && !errors.As(e.Error(), &broken) {
			t.Errorf("%s: %v", c.name, e.Error())
		}
		if link.Why(broken)&c.want != c.want || c.want == 0 && broken != 0 {
			t.Errorf("%s: broke %v, want %v", c.name, link.Why(broken).Names(), c.want.Names())
		}
		if got.Metadata().Truncated != c.truncated {
			t.Errorf("%s: truncated %v", c.name, got.Metadata().Truncated)
		}
	}
}

// A Layer in a parser of one's own.
func TestLayerInAParser(t *testing.T) {
	t.Parallel()
	l := &link.Layer{Profile: ft12(t, true), Side: capture.SideUnknown}
	var payload gopacket.Payload
	parser := gopacket.NewDecodingLayerParser(link.LayerTypeFrame, l, &payload)
	var decoded []gopacket.LayerType
	if err := parser.DecodeLayers(octets(t, "68030368530150A416"), &decoded); err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(decoded, []gopacket.LayerType{link.LayerTypeFrame, gopacket.LayerTypePayload}) || !slices.Equal(payload, octets(t,
		"0368530150")) {
		t.Errorf("decoded %v, payload %X", decoded, []byte(payload))
	}
	err := parser.DecodeLayers(octets(t, "68030368530151A416"), &decoded)
	if want := "frame breaks the rules of checksum"; err == nil || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
	if l.Sum != 0xA4 || l.Want != 0xA5 {
		t.Errorf("sum %X, want %X", l.Sum, l.Want)
	}
}

// The parser in the stream and the layer by itself say the same.
func TestParserChangesNothing(t *testing.T) {
	t.Parallel()
	for _, c := range links(t) {
		chars, b := batch(characters(t, c.frame), 3, c.p.Framing.Break)
		for i := 5; i < len(chars.Chars); i += 97 {
			chars.Chars[i].Value ^= 4
		}
		k := link.NewCutter(c.p, capture.Nanoseconds)
		var with, without link.Frames
		k.Cut(&with, &chars, &b)
		k.Direct().Cut(&without, &chars, &b)
		if a, b := shown(with.Frames), shown(without.Frames); a != b {
			t.Errorf("%s:\n%s\n%s", c.name, a, b)
		}
	}
}
