package link_test

import (
	"testing"

	"linewitness/decode/link"
	"linewitness/decode/uart"
)

var sevenEven = uart.Line{Speed: 9600, Format: uart.Format{DataBits: 7, Parity: uart.ParityEven, StopHalfs: 2}}

// modbusASCII is Modbus over Serial Line V1.02, clause 2.5.2: colon, two digits an octet, LRC, CR LF.
func modbusASCII(t testing.TB) *link.Profile {
	return &link.Profile{Name: "ASCII", Line: sevenEven, Checksum: sum(t, "sum8-twos-complement", 1, -3),
		Framing: link.Framing{Gap: handGap, Start: marks(':'), End: marks(0x0D, 0x0A), Coding: link.CodingHex}}
}

// lin is LIN 2.2A: break, sync 55, protected identifier, data, sum; from: first octet that the sum covers, 2 of the enhanced
// model (clause 2.8.3), 3 of the classic one.
func lin(t testing.TB, from int) *link.Profile {
	return &link.Profile{Name: "LIN", Line: line9600, Checksum: sum(t, "sum8-carry-ones-complement", from, -1),
		Framing: link.Framing{Gap: handGap, Break: true, Start: marks(0x55)}}
}

// ft12 is IEC 60870-5-1 FT1.2: frames of fixed length, and those that say theirs twice.
func ft12(t testing.TB, long bool) *link.Profile {
	p := &link.Profile{Name: "FT1.2", Line: line9600, Checksum: sum(t, "sum8", 1, -2),
		Framing: link.Framing{Gap: handGap, Fixed: 5, Start: marks(0x10), End: marks(0x16)}}
	if long {
		p.Framing.Fixed, p.Framing.Start, p.Checksum.From = 0, marks(0x68), 4
		p.Framing.Length = &link.Length{At: 1, Counts: link.CountsPayload,
			Add: 2} // the second length and the second start stand before what it counts
	}
	return p
}

// blockCheck is IEC 62056-21: SOH, text, ETX, exclusive or of what stands behind SOH up to ETX.
func blockCheck(t testing.TB) *link.Profile {
	return &link.Profile{Name: "block check", Line: sevenEven, Checksum: sum(t, "xor8", 1, -1),
		Framing: link.Framing{Gap: handGap, Start: marks(0x01), End: marks(0x03), After: 1}}
}

// Frames that others published, each good as it is and bad with any single bit of it turned over.
func TestPublishedFrames(t *testing.T) {
	t.Parallel()
	rtu, ascii := link.ModbusRTU(line9600), modbusASCII(t)
	rtu.Framing.Gap, rtu.Framing.Inside = handGap, 0
	for _, c := range []struct {
		p      *link.Profile
		frame  string
		source string
	}{
		{rtu, "0003007C00020402", "pymodbus test/framer/test_framer.py, commit 736127513cee, and so to the next remark"},
		{rtu, "000304008D008EFABC", ""},
		{rtu, "0083029131", ""},
		{rtu, "1103007C00020743", ""},
		{rtu, "110304008D008EFBBD", ""},
		{rtu, "118302C134", ""},
		{rtu, "FF03007C0002100D", ""},
		{rtu, "FF0304008D008EF5B3", ""},
		{rtu, "FF8302A101", ""},
		{rtu, "1103006B00037687", "goburrow/modbus rtuclient_test.go"},
		{ascii, text(":0003007C00027F\r\n"), "pymodbus, as above"},
		{ascii, text(":000304008D008EDE\r\n"), ""},
		{ascii, text(":0083027B\r\n"), ""},
		{ascii, text(":1103007C00026E\r\n"), ""},
		{ascii, text(":110304008D008ECD\r\n"), ""},
		{ascii, text(":1183026A\r\n"), ""},
		{ascii, text(":FF03007C000280\r\n"), ""},
		{ascii, text(":FF0304008D008EDF\r\n"), ""},
		{ascii, text(":FF83027C\r\n"), ""},
		{ascii, text(":1103006B00037E\r\n"), "goburrow/modbus asciiclient_test.go"},
		{ascii, text(":F7031389000A60\r\n"), "goburrow/modbus asciiclient_test.go"},
		{lin(t, 3), "0055504A5593E5E6", "LIN 2.2A clause 2.8.3"},
		{lin(t, 2), "0055504A5593E596", "same data, identifier 10: public test suites"},
		{lin(t, 2), "0055974A5593E54F", "identifier 17; computed"},
		{lin(t, 2), "0055BF4A5593E527", "identifier 3F; computed"},
		{lin(t, 3), "00558091FA73", "public test suites, and so to the next remark"},
		{lin(t, 3), "005580A9D3763D4FD9D35B76", ""},
		{lin(t, 3), "005580DD0121", ""},
		{lin(t, 3), "005580BF40FF00", ""},
		{lin(t, 3), "0055800000000000000000FF", ""},
		{lin(t, 3), "005580FFFFFFFFFFFFFFFF00", ""},
		{lin(t, 3), "005580FF", "no data"},
		{blockCheck(t), text("\x01B0\x03q"), "IEC 62056-21; comment of a public implementation"},
		{blockCheck(t), text("\x01P0\x02()\x03\x60"), "IEC 62056-21 (from memory; recomputed)"},
		{blockCheck(t), text("\x01P1\x02(00000000)\x03\x61"), "IEC 62056-21 (from memory; recomputed)"},
		{ft12(t, false), "1040014116", "public test suites of EN 13757-2, and so on"},
		{ft12(t, false), "105B015C16", ""},
		{ft12(t, false), "107B017C16", ""},
		{ft12(t, true), "68030368530150A416", ""},
	} {
		good := characters(t, c.frame)
		if got := cutOne(c.p, good); len(got) != 1 || !got[0].OK() {
			t.Errorf("%s %s: got %s", c.p.Name, c.frame, shown(got))
		}
		bits := int(c.p.Line.Format.DataBits)
		for i := range len(good) * bits {
			bad := append([]uint16(nil), good...)
			if bad[i/bits] ^= 1 << (i % bits); unseen(c.p, i/bits, bad) {
				continue
			}
			for _, f := range cutOne(c.p, bad) {
				if f.OK() {
					t.Errorf("%s %s, bit %d of character %d turned over: good as %s", c.p.Name, c.frame, i%bits, i/bits, shown(cutOne(c.p, bad)))
				}
			}
		}
	}
}

// unseen names the characters that no rule of the profile guards: LIN's identifier in the classic model, the second length
// and start of FT1.2, a hexadecimal digit of the other case.
func unseen(p *link.Profile, i int, bad []uint16) bool {
	switch {
	case p.Framing.Break:
		return i == 0 || i == 2 && p.Checksum.From == 3
	case p.Framing.Length != nil:
		return i == 2 || i == 3
	case p.Framing.Coding == link.CodingHex:
		return bad[i] >= 'a' && bad[i] <= 'f'
	}
	return false
}

// cutOne cuts characters of one burst; where frames begin with a break, the first is one.
func cutOne(p *link.Profile, v []uint16) []link.Frame {
	chars, b := byHand(v...)
	if p.Framing.Break {
		chars.Chars[0].Fault = uart.FaultBreak | uart.FaultStop
	}
	return cutByHand(p, &chars, &b)
}

// text is the text's octets in hex.
func text(s string) (h string) {
	const digits = "0123456789ABCDEF"
	for i := range len(s) {
		h += digits[s[i]>>4:s[i]>>4+1] + digits[s[i]&15:s[i]&15+1]
	}
	return h
}

// The bad frame of the same public tests; its right check would be 80.
func TestPublishedBadFrame(t *testing.T) {
	t.Parallel()
	p := modbusASCII(t)
	if got, want := shown(cutOne(p, characters(t, text(":0003007C00017F\r\n")))), text(":0003007C00017F\r\n")+":checksum"; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
	if got := cutOne(p, characters(t, text(":0003007C000180\r\n"))); len(got) != 1 || !got[0].OK() {
		t.Errorf("got %s", shown(got))
	}
}

// All published frames of a link in one burst, one behind the other, are cut as they are.
func TestFramesBackToBack(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		p    *link.Profile
		line string
		want string
	}{
		{modbusASCII(t), text(":0083027B\r\n:1183026A\r\n:FF83027C\r\n"),
			text(":0083027B\r\n") + " " + text(":1183026A\r\n") + " " + text(":FF83027C\r\n")},
		{blockCheck(t), text("\x01B0\x03q\x01P0\x02()\x03\x60"), text("\x01B0\x03q") + " " + text("\x01P0\x02()\x03\x60")},
		{ft12(t, false), "1040014116105B015C16107B017C16", "1040014116 105B015C16 107B017C16"},
		{ft12(t, true), "68030368530150A41668030368530150A416", "68030368530150A416 68030368530150A416"},
	} {
		if got := shown(cutOne(c.p, characters(t, c.line))); got != c.want {
			t.Errorf("%s: got %s, want %s", c.p.Name, got, c.want)
		}
	}
}
