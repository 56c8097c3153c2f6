package link_test

import (
	"slices"
	"testing"

	"linewitness/capture"
	"linewitness/capture/burst"
	"linewitness/decode/checksum"
	"linewitness/decode/link"
	"linewitness/decode/uart"
)

// mostWork is how many characters the cutter may look at for each one, whatever they are: 32 in tries, the frame tried last
// beyond that, and the passes that make frames.
const mostWork = 40

// framed builds a profile from octets, whatever they say.
func framed(b []byte) *link.Profile {
	at := func(i int) int {
		if i < len(b) {
			return int(b[i])
		}
		return 0
	}
	mark := func(n, v int) (m []uint16) {
		for i := range n {
			m = append(m, uint16(v+i*at(12)))
		}
		return m
	}
	f := link.Framing{Gap: handGap, Fixed: at(0) % 20, Start: mark(at(1)%3, at(2)), End: mark(at(3)%3, at(4)), After: at(5) % 3,
		Break:  at(6)&1 == 1,
		Coding: link.Coding(at(7) % 3), Escape: link.Escape{Mark: byte(at(8)), Xor: byte(at(9))}, Modbus: at(6)&14 == 14}
	if f.Fixed == 0 || at(10)&8 == 8 {
		if at(10)&4 == 4 {
			f.Length = &link.Length{At: at(10) >> 4, Counts: link.Counts(at(10) & 3 % 3), Add: at(11)%5 - 2}
		}
	}
	p := &link.Profile{Name: "fuzz", Line: uart.Line{Speed: 9600, Format: uart.Format{DataBits: 8, StopHalfs: 2}}, Framing: f}
	if name := sums[at(13)%len(sums)]; name != "" {
		s, err := checksum.Parse(name)
		if err != nil {
			panic(err)
		}
		p.Checksum = &checksum.Spec{Sum: s, From: at(14) % 4, To: -at(15) % 4, At: -at(16) % 5}
	}
	p.Shapes = []link.Shape{{Match: []link.Match{{At: at(17) - 128, Mask: byte(at(18)), Value: byte(at(19))}}, Fields: []link.Field{
		{At: at(20) - 128, Octets: at(21) % 11, Bit: at(22)%70 - 3, Bits: at(23)%70 - 3, Signed: at(24)&1 == 1,
			Order: checksum.Order(at(24) >> 1 & 1)}}}}
	return p
}

// checkCut cuts, and checks that every character is in exactly one frame, in order, and that the work is bounded.
func checkCut(t *testing.T, p *link.Profile, chars *uart.Chars, b *burst.Batch) {
	t.Helper()
	var f link.Frames
	link.NewCutter(p, capture.Nanoseconds).Cut(&f, chars, b)
	at := 0
	var numbers []link.Number
	for i := range f.Frames {
		got := &f.Frames[i]
		if f.First[i] != at || len(got.Values) != len(got.Chars) || len(got.Values) == 0 {
			t.Fatalf("frame %d begins at character %d with %d values, want %d", i, f.First[i], len(got.Values), at)
		}
		for k, v := range got.Values {
			if v != chars.Chars[at+k].Value || v != got.Chars[k].Value {
				t.Fatalf("frame %d, character %d: %X", i, k, v)
			}
		}
		if len(got.Octets) > len(got.Values) || got.OK() && len(got.Octets) == 0 {
			t.Fatalf("frame %d: %d octets of %d characters", i, len(got.Octets), len(got.Values))
		}
		numbers = p.Dissect(numbers[:0], got.Octets, got.Shape)
		at += len(got.Values)
	}
	if at != len(chars.Chars) {
		t.Fatalf("%d of %d characters in frames", at, len(chars.Chars))
	}
	if n := len(chars.Chars); f.Worked() > mostWork*n {
		t.Fatalf("%d characters looked at for %d: %+v", f.Worked(), n, p.Framing)
	}
}

func FuzzCut(f *testing.F) {
	f.Add([]byte{4, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1, 0, 1, 1}, []byte("\x01\x02\x03\x06\x01\x02\x03"))
	f.Add([]byte{0, 1, 0xAA, 0, 0, 0, 0, 0, 0, 0, 0x16, 0, 0, 1, 1, 1, 1}, []byte("\xAA\x02\x01\x02\x05\xAA\x01\x07\x08"))
	f.Add([]byte{0, 1, ':', 2, 13, 0, 0, 2, 0, 0, 0, 0, 253, 3, 1, 3, 3}, []byte(":0103\r\n:01FF\r\n"))
	f.Add([]byte{0, 1, 0x7E, 1, 0x7E, 0, 1, 1, 0x7D, 0x20}, []byte("\x00\x7E\x7D\x5E\x7E"))
	f.Fuzz(func(t *testing.T, rules, line []byte) {
		if len(line) == 0 || len(line) > 1<<14 {
			return
		}
		chars, b := byHand(make([]uint16, len(line))...)
		for i, c := range line {
			chars.Chars[i].Value = uint16(c)
			if c == 0 {
				chars.Chars[i].Fault = uart.FaultBreak | uart.FaultStop
			}
		}
		p := framed(rules)
		_ = p.Check() != nil
		checkCut(t, p, &chars, &b)
	})
}

// Fields that say anything of octets that are anything; what is put where a number was read is read again.
func FuzzDissect(f *testing.F) {
	f.Add([]byte{17: 0, 20: 128, 21: 2, 22: 3, 23: 11}, []byte("\x12\x34\x56"), int64(5))
	f.Add([]byte{20: 126, 21: 2, 22: 7, 23: 9, 24: 3}, []byte("\x12\x34\x56"), int64(-5))
	f.Fuzz(func(t *testing.T, rules, octets []byte, n int64) {
		p := framed(rules)
		field := &p.Shapes[0].Fields[0]
		field.Name = "n"
		for _, got := range p.Dissect(nil, octets, 0) {
			if want, ok := field.Number(octets); !ok || got.N != want {
				t.Fatalf("%+v of %X: %d, %d %v", field, octets, got.N, want, ok)
			}
			p.Framing, p.Checksum, p.Shapes[0].Match = link.Framing{Gap: 1}, nil, nil
			p.Shapes[0].Length, p.Shapes[0].Constant = len(octets), octets
			line, err := p.Compose(nil, 0, map[string]int64{"n": got.N})
			if err != nil {
				if len(octets) > 4096 {
					return
				}
				t.Fatalf("%+v of %X: %v", field, octets, err)
			}
			if !slices.Equal(packet(line, false), octets) {
				t.Fatalf("%+v of %X put back: %X", field, octets, line)
			}
			if line, err = p.Compose(line[:0], 0, map[string]int64{"n": n}); err != nil {
				return // too large a number
			}
			if again, _ := field.Number(packet(line, false)); again != n {
				t.Fatalf("%+v: %d put, %d read", field, n, again)
			}
		}
	})
}
