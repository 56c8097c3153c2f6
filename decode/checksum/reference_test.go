package checksum

import (
	"math/bits"
	"testing"

	"pgregory.net/rapid"
)

// bitwise is a CRC worked out one bit at a time, straight from the model's definition.
func bitwise(p Params, data []byte) uint16 {
	top, mask := uint32(1)<<(p.Width-1), uint32(1)<<p.Width-1
	r := uint32(p.Init)
	for _, b := range data {
		if p.RefIn {
			b = bits.Reverse8(b)
		}
		for i := 7; i >= 0; i-- {
			out := r&top != 0
			r = r << 1 & mask
			if out != (b>>i&1 == 1) {
				r ^= uint32(p.Poly)
			}
		}
	}
	if p.RefOut {
		r = bits.Reverse32(r) >> (32 - p.Width)
	}
	return uint16(r) ^ p.XorOut
}

// stepwise is a simple sum worked out one octet at a time.
func stepwise(s simple, data []byte) uint16 {
	a, b := int(s.init&0xFF), int(s.init>>8)
	if s.kind == sum8Carry || s.kind == sum8CarryOnes {
		for _, d := range data {
			if a += int(d); a > 255 {
				a -= 255
			}
		}
	} else {
		for _, d := range data {
			switch s.kind {
			case xor8:
				a ^= int(d)
			case fletcher255:
				a = (a + int(d)) % 255
				b = (b + a) % 255
			default:
				a = (a + int(d)) % 256
				b = (b + a) % 256
			}
		}
	}
	switch s.kind {
	case sum8Twos:
		return uint16((256 - a) % 256)
	case sum8Ones, sum8CarryOnes:
		return uint16(255 - a)
	case fletcher255:
		return uint16(b%255<<8 | a%255)
	case fletcher256:
		return uint16(b<<8 | a)
	}
	return uint16(a)
}

func drawParams(t *rapid.T) Params {
	width := rapid.SampledFrom([]int{8, 16}).Draw(t, "width")
	most := uint16(1<<width - 1)
	value := func(name string) uint16 { return rapid.Uint16Range(0, most).Draw(t, name) }
	return Params{width, value("poly") | 1, value("init"), rapid.Bool().Draw(t, "refin"), rapid.Bool().Draw(t, "refout"), value("xorout")}
}

func drawSum(t *rapid.T) Sum {
	if rapid.Bool().Draw(t, "crc") {
		c, err := NewCRC(drawParams(t))
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	return drawSimple(t)
}

func drawSimple(t *rapid.T) simple {
	s := simple{kind: kind(rapid.IntRange(0, len(simples)-1).Draw(t, "kind"))}
	s.init = rapid.Uint16Range(0, uint16(1<<(8*s.Size())-1)).Draw(t, "init")
	return s
}

func TestTablesEqualBitByBit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawParams(t)
		data := rapid.SliceOfN(rapid.Byte(), 0, 40).Draw(t, "data")
		c, err := NewCRC(p)
		if err != nil {
			t.Fatal(err)
		}
		if got, want := c.Compute(data), bitwise(p, data); got != want {
			t.Fatalf("%v of %X: %#x, want %#x", c, data, got, want)
		}
	})
}

func TestSimpleEqualsStepwise(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawSimple(t)
		data := rapid.SliceOfN(rapid.Byte(), 0, 40).Draw(t, "data")
		if got, want := s.Compute(data), stepwise(s, data); got != want {
			t.Fatalf("%v of %X: %#x, want %#x", s, data, got, want)
		}
	})
}

// Sums over more than one block of Fletcher's deferred remainders, at their worst.
func TestLongData(t *testing.T) {
	data := make([]byte, 3*4096+5)
	for i := range data {
		data[i] = 0xFF
	}
	for k := range simples {
		s := simple{kind: kind(k), init: uint16(1<<(8*simples[k].size) - 1)}
		if got, want := s.Compute(data), stepwise(s, data); got != want {
			t.Errorf("%v: %#x, want %#x", s, got, want)
		}
	}
}

func TestStringParse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sum := drawSum(t)
		back, err := Parse(sum.String())
		if err != nil {
			t.Fatal(err)
		}
		if back.String() != sum.String() || back.Size() != sum.Size() {
			t.Fatalf("%v came back as %v", sum, back)
		}
		data := rapid.SliceOfN(rapid.Byte(), 0, 20).Draw(t, "data")
		if got, want := back.Compute(data), sum.Compute(data); got != want {
			t.Fatalf("%v of %X: %#x, came back %#x", sum, data, want, got)
		}
	})
}

func TestPutThenVerify(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sum := drawSum(t)
		frame := rapid.SliceOfN(rapid.Byte(), 6, 30).Draw(t, "frame")
		mark := rapid.IntRange(0, 2).Draw(t, "mark")
		from := rapid.IntRange(0, 2).Draw(t, "from")
		order := rapid.SampledFrom([]Order{Big, Little}).Draw(t, "order")
		at := -sum.Size() - mark
		spec := Spec{sum, from, at, at, order}
		before := append([]byte(nil), frame...)
		if !spec.Put(frame) {
			t.Fatal("Put refused")
		}
		if ok, want, got, short := spec.Verify(frame); !ok || short || want != got {
			t.Fatalf("%v of %X: ok %v want %#x got %#x short %v", spec, frame, ok, want, got, short)
		}
		for i := range frame { // only the sum was written
			if i >= len(frame)+at && i < len(frame)+at+sum.Size() {
				continue
			}
			if frame[i] != before[i] {
				t.Fatalf("octet %d changed", i)
			}
		}
	})
}

func TestCRCFindsEveryBit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, err := NewCRC(drawParams(t))
		if err != nil {
			t.Fatal(err)
		}
		frame := rapid.SliceOfN(rapid.Byte(), c.Size(), 24).Draw(t, "frame")
		spec := Spec{Sum: c, To: -c.Size(), At: -c.Size()}
		spec.Put(frame)
		for bit := range 8 * len(frame) {
			frame[bit/8] ^= 1 << (bit % 8)
			if ok, _, _, _ := spec.Verify(frame); ok {
				t.Fatalf("%v: bit %d of %X missed", c, bit, frame)
			}
			frame[bit/8] ^= 1 << (bit % 8)
		}
	})
}
