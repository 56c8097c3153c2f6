package link_test

import (
	"testing"

	"linewitness/capture"
	"linewitness/decode/checksum"
	"linewitness/decode/link"
	"linewitness/decode/uart"
)

func marks(c ...uint16) []uint16 { return c }

// contract.md, "The finding".
func TestFramingInWords(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		f    link.Framing
		want string
	}{
		{link.Framing{}, "unknown"},
		{link.Framing{Gap: 1}, "gap"},
		{link.Framing{Gap: 1, Fixed: 12}, "fixed 12; gap"},
		{link.Framing{Fixed: 12}, "fixed 12"},
		{link.Framing{Length: &link.Length{At: 1}}, "length at=1 counts=all"},
		{link.Framing{Length: &link.Length{At: 2, Counts: link.CountsRest}, Start: marks(0xAA, 0x55), Gap: 1},
			"length at=2 counts=rest; marks start=AA55; gap"},
		{link.Framing{Length: &link.Length{At: 0, Counts: link.CountsPayload}}, "length at=0 counts=payload"},
		{link.Framing{Start: marks(0xAA, 0x55), End: marks(0x16)}, "marks start=AA55 end=16"},
		{link.Framing{End: marks(0x0D, 0x0A), Gap: 1}, "marks end=0D0A; gap"},
		{link.Framing{Start: marks(0x17E, 0x10)}, "marks start=017E0010"},
	} {
		if got := c.f.String(); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
}

// Each rule of where a frame ends, undamaged and damaged; sums are sum8 unless the name says otherwise.
func TestFraming(t *testing.T) {
	t.Parallel()
	fixed := &link.Profile{Framing: link.Framing{Gap: handGap, Fixed: 4}, Checksum: sum(t, "sum8", 0, -1)}
	bare := &link.Profile{Framing: link.Framing{Gap: handGap, Fixed: 4}}
	length := &link.Profile{Framing: link.Framing{Gap: handGap, Start: marks(0xAA), Length: &link.Length{At: 1,
		Counts: link.CountsPayload}}, Checksum: sum(t, "sum8", 1, -1)}
	unmarked := &link.Profile{Framing: link.Framing{Gap: handGap, Length: &link.Length{At: 0}}, Checksum: sum(t, "sum8", 0, -1)}
	rest := &link.Profile{Framing: link.Framing{Gap: handGap, Length: &link.Length{At: 0, Counts: link.CountsRest, Add: 1}}}
	both := &link.Profile{Framing: link.Framing{Gap: handGap, Start: marks(0x02), End: marks(0x03), After: 1}, Checksum: sum(t, "xor8", 1, -1)}
	end := &link.Profile{Framing: link.Framing{Gap: handGap, End: marks(0x0D, 0x0A)}}
	open := &link.Profile{Framing: link.Framing{Gap: handGap, Start: marks(0xAA, 0x55)}, Checksum: sum(t, "sum8", 2, -1)}
	escape := &link.Profile{Framing: link.Framing{Gap: handGap, Start: marks(0x7E), End: marks(0x7E), Coding: link.CodingEscape,
		Escape: link.Escape{Mark: 0x7D, Xor: 0x20}}, Checksum: sum(t, "sum8", 1, -2)}
	coded := &link.Profile{Framing: link.Framing{Gap: handGap, Start: marks(0x7E), Length: &link.Length{At: 1,
		Counts: link.CountsRest}, Coding: link.CodingEscape,
		Escape: link.Escape{Mark: 0x7D, Xor: 0x20}}}
	hexed := &link.Profile{Framing: link.Framing{Gap: handGap, Start: marks(':'), End: marks(0x0D, 0x0A), Coding: link.CodingHex},
		Checksum: sum(t, "sum8-twos-complement", 1, -3)}
	for _, c := range []struct {
		name string
		p    *link.Profile
		line string
		want string
	}{
		{"fixed, one", fixed, "01020306", "01020306"},
		{"fixed, two in a burst", fixed, "01020306 10203060", "01020306 10203060"},
		{"fixed, sum wrong", fixed, "01020307 10203060", "01020307:checksum 10203060"},
		{"fixed, each sum wrong", fixed, "01020307 10203061 01010104", "01020307:checksum 10203061:checksum 01010104:checksum"},
		{"fixed, one lost", fixed, "010306 10203060 11213163", "010306:checksum+length 10203060 11213163"},
		{"fixed, one too many", fixed, "FF 01020306 10203060", "FF:checksum+length 01020306 10203060"},
		{"fixed, one lost and no other", fixed, "010306", "010306:checksum+length"},
		{"fixed, nothing else to know it by", bare, "01020304 05060708", "01020304 05060708"},
		{"fixed, nothing to find it by", bare, "01020304 050607", "01020304050607:length"},
		{"length, several", length, "AA00 00 AA02 0102 05 AA01 0708", "AA0000 AA02010205 AA010708"},
		{"length, start mark lost", length, "02 0102 05 AA01 0708", "02010205:checksum+length AA010708"},
		{"length, start mark wrong", length, "AB01 0708 AA01 0708", "AB010708:length AA010708"},
		{"length, character lost", length, "AA02 01 05 AA01 0708", "AA020105:checksum+length AA010708"},
		{"length, too long a length", length, "AA09 0102 05 AA01 0708", "AA09010205:checksum+length AA010708"},
		{"length, beyond the run", length, "AA09 0102 05 AA 01", "AA09010205AA01:checksum+length"},
		{"length, too short a length", length, "AA01 0103 06 AA01 0708", "AA01010306:checksum+length AA010708"},
		{"length, a mark inside", length, "AA02 AA00 AC AA01 0708", "AA02AA00AC AA010708"},
		{"length, a mark inside, sum wrong", length, "AA03 AA0000 AD AA01 0708", "AA03AA0000AD AA010708"},
		{"length, each sum wrong", length, "AA02 0102 06 AA01 0709 AA01 0708", "AA02010206:checksum AA010709:checksum AA010708"},
		{"length, too short to be one", length, "AA", "AA:length"},
		{"length, unmarked", unmarked, "04010207 0507 08090F", "04010207 050708090F:checksum"},
		{"length, unmarked, two", unmarked, "0401020703 0509", "04010207 030509:checksum"},
		{"length of the rest", rest, "01 0203 00 04", "010203 0004"},
		{"length of the rest, cut short", rest, "01 0203 04 05", "010203 0405:length"},
		{"marks with a check behind", both, "02 41 03 42 02 4142 03 00", "02410342 0241420300"},
		{"marks, the check looks like a mark", both, "02 00 03 03 02 01 03 02 02 41 03 42", "02000303 02010302 02410342"},
		{"marks, end lost", both, "02 41 42 02 41 03 42", "024142:checksum+length 02410342"},
		{"marks, end lost in the last", both, "02 41 03 42 02 41 42", "02410342 024142:checksum+length"},
		{"marks, noise before", both, "FF FE 02 41 03 42", "FFFE:unframed 02410342"},
		{"end mark alone", end, "41 0D0A 4142 0D0A", "410D0A 41420D0A"},
		{"end mark alone, lost in the last", end, "41 0D0A 4142 0D", "410D0A 41420D:length"},
		{"start mark alone", open, "AA55 01 0203 06", "AA5501020306"},
		{"start mark alone, noise before", open, "00 AA AA55 01 0203 06", "00AA:length AA5501020306"},
		{"start mark alone, sum wrong", open, "AA55 01 0203 07", "AA5501020307:checksum"},
		{"escape", escape, "7E 01 7D5E 7D5D FC 7E 7E 02 02 7E", "7E017D5E7D5DFC7E 7E02027E"},
		{"escape broken", escape, "7E 01 7D7E 7E 02 02 7E", "7E017D7E:length 7E02027E"},
		{"escape, shared mark lost", escape, "01 01 7E 7E 02 02 7E", "01017E:checksum+length 7E02027E"},
		{"escape and length", coded, "7E02 7D5E01 7E7D5D", "7E027D5E01 7E7D5D:length"},
		{"hex", hexed, "3A 30 31 46 46 0D0A", "3A303146460D0A"},
		{"hex, small letters", hexed, "3A 30 31 66 66 0D0A", "3A303166660D0A"},
		{"hex, no digit", hexed, "3A 30 47 46 46 0D0A 3A303146460D0A", "3A304746460D0A:length 3A303146460D0A"},
		{"hex, half an octet", hexed, "3A 30 46 46 0D0A", "3A3046460D0A:length"},
	} {
		chars, b := byHand(characters(t, c.line)...)
		if got := shown(cutByHand(c.p, &chars, &b)); got != c.want {
			t.Errorf("%s:\n got %s\nwant %s", c.name, got, c.want)
		}
	}
}

// Octets are what stands behind the coding; marks are one octet a character.
func TestOctets(t *testing.T) {
	t.Parallel()
	p := &link.Profile{Framing: link.Framing{Gap: handGap, Start: marks(0x7E), End: marks(0x7E), Coding: link.CodingEscape,
		Escape: link.Escape{Mark: 0x7D, Xor: 0x20}}}
	chars, b := byHand(characters(t, "7E 01 7D5E 7D5D 7E")...)
	f := cutByHand(p, &chars, &b)
	if len(f) != 1 || string(f[0].Octets) != "\x7E\x01\x7E\x7D\x7E" {
		t.Errorf("got %+v", f)
	}
	if f[0].Shape != -1 {
		t.Errorf("shape %d of a profile without shapes", f[0].Shape)
	}
}

// Characters of nine bits: the ninth tells a mark from data.
func TestNineBits(t *testing.T) {
	t.Parallel()
	p := &link.Profile{Line: uart.Line{Speed: 9600, Format: uart.Format{DataBits: 9, StopHalfs: 2}},
		Framing:  link.Framing{Gap: handGap, Start: marks(0x110)},
		Checksum: sum(t, "sum8", 1, -1)}
	chars, b := byHand(0x10, 0x110, 0x010, 0x010)
	if got, want := shown(cutByHand(p, &chars, &b)), "10:length 1101010"; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}

// A break begins a frame and is no stop fault there; elsewhere it is one.
func TestBreakBegins(t *testing.T) {
	t.Parallel()
	p := &link.Profile{Framing: link.Framing{Gap: handGap, Break: true, Start: marks(0x55)}, Checksum: sum(t, "sum8", 2, -1)}
	chars, b := byHand(0, 0x55, 1, 1, 0, 0x55, 2, 2, 0, 0x55, 3, 4, 0)
	for _, i := range []int{0, 4, 8, 12} {
		chars.Chars[i].Fault = uart.FaultBreak | uart.FaultStop | uart.FaultParity
	}
	if got, want := shown(cutByHand(p, &chars, &b)), "00550101 00550202 00550304:checksum 00:unframed"; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
	chars, b = byHand(0, 0x55, 1, 1, 0, 0x55, 2, 2)
	chars.Chars[0].Fault = uart.FaultBreak | uart.FaultStop
	chars.Chars[4].Fault = uart.FaultStop
	if got, want := shown(cutByHand(p, &chars, &b)), "0055010100550202:checksum+stop"; got != want {
		t.Errorf("a character that is no break: got %s, want %s", got, want)
	}
}

// Silences end frames whatever other rules say, and a change of the level of space does.
func TestSilenceAndLevelEnd(t *testing.T) {
	t.Parallel()
	p := &link.Profile{Framing: link.Framing{Gap: handGap, Fixed: 4}, Checksum: sum(t, "sum8", 0, -1)}
	chars, b := byHand(characters(t, "01020306 01020306")...)
	for i := 3; i < 8; i++ {
		chars.Chars[i].At += 5e6
		chars.Chars[i].End += 5e6
	}
	if got, want := shown(cutByHand(p, &chars, &b)), "010203:length 06:checksum+length 01020306"; got != want {
		t.Errorf("silence: got %s, want %s", got, want)
	}
	chars, b = byHand(characters(t, "0102 0306")...)
	chars.Chars[2].Space, chars.Chars[3].Space = capture.High, capture.High
	if got, want := shown(cutByHand(p, &chars, &b)), "0102:checksum+length 0306:checksum+length"; got != want {
		t.Errorf("level: got %s, want %s", got, want)
	}
}

// What the recording cuts is no fault: where it begins, ends, or a burst is torn for its length.
func TestCutByTheRecording(t *testing.T) {
	t.Parallel()
	p := &link.Profile{Framing: link.Framing{Gap: handGap, Fixed: 4}, Checksum: sum(t, "sum8", 0, -1)}
	chars, b := byHand(characters(t, "0306 01020306 0102")...)
	for _, c := range []struct {
		name               string
		begins, ends, torn bool
		want               string
	}{
		{"known all around", false, false, false, "0306:checksum+length 01020306 0102:checksum+length"},
		{"begins", true, false, false, "0306:cut 01020306 0102:checksum+length"},
		{"ends", false, true, false, "0306:checksum+length 01020306 0102:cut"},
		{"torn", false, true, true, "0306:checksum+length 01020306 0102:cut"},
	} {
		s := &b.Bursts[0]
		s.Begins, s.Ends, s.Torn = c.begins, c.ends, c.torn
		s.Before, s.Until = chars.Chars[0].At, chars.Chars[7].End
		if got := shown(cutByHand(p, &chars, &b)); got != c.want {
			t.Errorf("%s: got %s, want %s", c.name, got, c.want)
		}
	}
}

// A profile whose silence isn't known but whose frames end by another rule bears pauses.
func TestSilenceNotKnown(t *testing.T) {
	t.Parallel()
	p := &link.Profile{Line: uart.Line{Speed: 10000, Format: uart.Format{DataBits: 8, StopHalfs: 2}}, Framing: link.Framing{Fixed: 4},
		Checksum: &checksum.Spec{}}
	*p.Checksum = *sum(t, "sum8", 0, -1)
	chars, b := byHand(characters(t, "01020306 01020306")...)
	if got, want := shown(cutByHand(p, &chars, &b)), "01020306 01020306"; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}
