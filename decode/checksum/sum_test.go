package checksum

import (
	"errors"
	"strings"
	"testing"
)

func TestParseWords(t *testing.T) {
	for text, want := range map[string]string{
		"sum8":                 "sum8",
		"sum8 init=0x55":       "sum8 init=0x55",
		"  xor8   init=0x0  ":  "xor8",
		"fletcher16 init=0x55": "fletcher16 init=0x0055",
		"sum8-twos-complement": "sum8-twos-complement",
		"sum8-ones-complement": "sum8-ones-complement",
		"sum8-carry":           "sum8-carry",
		"fletcher16-mod256":    "fletcher16-mod256",
		"crc8 poly=0x07 init=0x00 refin=false refout=false xorout=0x00":               "crc8 poly=0x07 init=0x00 refin=false refout=false xorout=0x00 (CRC-8/SMBUS)",
		"crc8 poly=0x07 init=0x00 refin=false refout=false xorout=0x00 (CRC-8/SMBUS)": "crc8 poly=0x07 init=0x00 refin=false refout=false xorout=0x00 (CRC-8/SMBUS)",
		"crc16 poly=0x8005 init=0xffff refin=true refout=true xorout=0x0":             "crc16 poly=0x8005 init=0xFFFF refin=true refout=true xorout=0x0000 (CRC-16/MODBUS)",
		"crc16 poly=0x8005 init=0x1234 refin=true refout=false xorout=0x0000":         "crc16 poly=0x8005 init=0x1234 refin=true refout=false xorout=0x0000",
	} {
		sum, err := Parse(text)
		if err != nil {
			t.Errorf("%q: %v", text, err)
			continue
		}
		if sum.String() != want {
			t.Errorf("%q: got %q, want %q", text, sum, want)
		}
	}
}

func TestParseRefuses(t *testing.T) {
	for text, says := range map[string]string{
		"":                     "found nothing",
		"sum":                  `"sum"`,
		"sum8 init=55":         "init=0x",
		"sum8 init=0x155":      "8 bits",
		"sum8 init=0x55 extra": `"extra"`,
		"none at all":          `"at"`,
		"crc8":                 "found 0",
		"crc32 poly=0x1":       `"crc32"`,
		"crc8 poly=0x107 init=0x00 refin=false refout=false xorout=0x00":                "8 bits",
		"crc8 poly=0x06 init=0x00 refin=false refout=false xorout=0x00":                 "odd",
		"crc8 poly=0x07 init=0x00 refin=no refout=false xorout=0x00":                    "refin",
		"crc8 init=0x00 poly=0x07 refin=false refout=false xorout=0x00":                 "poly",
		"crc8 poly=0x07 init=0x00 refin=false refout=false xorout=0x00 (CRC-8/DARC)":    "CRC-8/SMBUS",
		"crc8 poly=0x07 init=0x01 refin=false refout=false xorout=0x00 ()":              "()",
		"crc8 poly=0x07 init=0x00 refin=false refout=false xorout=0x00 (CRC-8/SMBUS) x": `"x"`,
	} {
		sum, err := Parse(text)
		if err == nil || sum != nil {
			t.Errorf("%q: got %v, %v, want an error", text, sum, err)
		} else if !strings.Contains(err.Error(), says) {
			t.Errorf("%q: error %q does not say %q", text, err, says)
		}
	}
	if _, err := Parse("none"); !errors.Is(err, ErrNone) {
		t.Errorf("none: %v", err)
	}
	if _, err := Parse("unknown"); !errors.Is(err, ErrUnknown) {
		t.Errorf("unknown: %v", err)
	}
	for _, p := range []Params{{}, {Width: 12, Poly: 1}, {Width: 8, Poly: 0x107}, {Width: 8, Poly: 7, XorOut: 0x100}} {
		if c, err := NewCRC(p); err == nil {
			t.Errorf("NewCRC(%+v) = %v, want an error", p, c)
		}
	}
}

func FuzzParse(f *testing.F) {
	for k := range simples {
		f.Add(simple{kind: kind(k), init: 0x55}.String())
	}
	f.Add("none")
	f.Add(catalogue[0].Sum().String())
	f.Add("crc16 poly=0x8005 init=0x1234 refin=true refout=false xorout=0x0000")
	f.Fuzz(func(t *testing.T, text string) {
		sum, err := Parse(text)
		if (sum == nil) == (err == nil) {
			t.Fatalf("%q: sum %v and error %v", text, sum, err)
		}
		if err != nil {
			return
		}
		back, err := Parse(sum.String())
		if err != nil || back.String() != sum.String() {
			t.Fatalf("%q: read as %q, read again as %v, %v", text, sum, back, err)
		}
		if a, b := sum.Compute([]byte(text)), back.Compute([]byte(text)); a != b {
			t.Fatalf("%q: %#x, read again %#x", text, a, b)
		}
	})
}
