package checksum

import (
	"bytes"
	"testing"
)

func TestSpecPlaces(t *testing.T) {
	sum := simple{kind: sum8}
	crc := catalogue[len(catalogue)-1].Sum() // CRC-16/XMODEM
	for name, c := range map[string]struct {
		spec  Spec
		frame []byte
		ok    bool
		short bool
	}{
		"at the end":          {Spec{Sum: sum, To: -1, At: -1}, []byte{1, 2, 3}, true, false},
		"wrong":               {Spec{Sum: sum, To: -1, At: -1}, []byte{1, 2, 4}, false, false},
		"marks around":        {Spec{Sum: sum, From: 1, To: -2, At: -2}, []byte{0xAA, 1, 2, 3, 0x16}, true, false},
		"in front":            {Spec{Sum: sum, From: 1, To: 0, At: 0}, []byte{6, 1, 2, 3}, true, false},
		"in the middle":       {Spec{Sum: sum, From: 0, To: 2, At: 2}, []byte{1, 2, 3, 9}, true, false},
		"from the end":        {Spec{Sum: sum, From: -3, To: -1, At: -1}, []byte{9, 1, 2, 3}, true, false},
		"nothing covered":     {Spec{Sum: sum, To: -1, At: -1}, []byte{0}, true, false},
		"covers itself":       {Spec{Sum: sum, To: 0, At: -1}, []byte{1, 2, 3}, false, true},
		"empty frame":         {Spec{Sum: sum, To: -1, At: -1}, nil, false, true},
		"at beyond the frame": {Spec{Sum: sum, To: 1, At: 3}, []byte{1, 2, 3}, false, true},
		"from beyond to":      {Spec{Sum: sum, From: 3, To: -1, At: -1}, []byte{1, 2, 3}, false, true},
		"no sum":              {Spec{To: -1, At: -1}, []byte{1, 2, 3}, false, true},
		"no such order":       {Spec{Sum: sum, To: -1, At: -1, Order: 7}, []byte{1, 2, 3}, false, true},
		"half a crc":          {Spec{Sum: crc, To: -2, At: -1}, []byte{1, 2, 3}, false, true},
		"crc of check string": {Spec{Sum: crc, To: -2, At: -2}, []byte("123456789\x31\xC3"), true, false},
		"crc low octet first": {Spec{Sum: crc, To: -2, At: -2, Order: Little}, []byte("123456789\xC3\x31"), true, false},
	} {
		ok, want, got, short := c.spec.Verify(c.frame)
		if ok != c.ok || short != c.short {
			t.Errorf("%s: ok %v short %v (want %#x got %#x), want ok %v short %v", name, ok, short, want, got, c.ok, c.short)
		}
	}
	for _, o := range []Order{Big, Little} {
		if back, err := ParseOrder(o.String()); err != nil || back != o {
			t.Errorf("%v came back as %v, %v", o, back, err)
		}
	}
	if _, err := ParseOrder("middle"); err == nil || Order(9).String() != "order 9" {
		t.Error("an order that is none")
	}
}

func TestVerifyAllocatesNothing(t *testing.T) {
	frame := make([]byte, 32)
	for _, text := range sumTexts() {
		sum, err := Parse(text)
		if err != nil {
			t.Fatal(err)
		}
		spec := Spec{Sum: sum, To: -2, At: -2}
		if n := testing.AllocsPerRun(100, func() { spec.Put(frame); spec.Verify(frame) }); n != 0 {
			t.Errorf("%s: %v allocations a frame", text, n)
		}
	}
}

// sumTexts is every algorithm there is, in words.
func sumTexts() []string {
	var all []string
	for k := range simples {
		all = append(all, simple{kind: kind(k)}.String())
	}
	for _, e := range catalogue {
		all = append(all, e.Sum().String())
	}
	return all
}

func FuzzVerify(f *testing.F) {
	f.Add([]byte("123456789\x31\xC3"), uint8(58), int8(0), int8(-2), int8(-2), uint8(0))
	f.Add([]byte{0xAA, 1, 2, 3, 0x16}, uint8(0), int8(1), int8(-2), int8(-2), uint8(1))
	f.Add([]byte{}, uint8(5), int8(0), int8(0), int8(0), uint8(2))
	texts := sumTexts()
	f.Fuzz(func(t *testing.T, frame []byte, which uint8, from, to, at int8, order uint8) {
		sum, err := Parse(texts[int(which)%len(texts)])
		if err != nil {
			t.Fatal(err)
		}
		spec := Spec{sum, int(from), int(to), int(at), Order(order)}
		before := bytes.Clone(frame)
		ok, want, got, short := spec.Verify(frame)
		if !bytes.Equal(before, frame) {
			t.Fatal("Verify wrote")
		}
		if ok && (short || want != got) {
			t.Fatalf("ok with want %#x got %#x short %v", want, got, short)
		}
		if put := spec.Put(frame); put == short {
			t.Fatalf("Put %v, short %v", put, short)
		} else if ok && !bytes.Equal(before, frame) {
			t.Fatal("Put changed a right frame")
		} else if again, _, _, _ := spec.Verify(frame); put && !again {
			t.Fatalf("%v: %X does not verify after Put", spec, frame)
		}
	})
}
