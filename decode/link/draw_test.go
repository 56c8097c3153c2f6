package link_test

import (
	"fmt"

	"pgregory.net/rapid"

	"linewitness/decode/checksum"
	"linewitness/decode/link"
)

// made is a profile drawn by chance, whose shapes all have as many octets.
type made struct {
	t       *rapid.T
	p       *link.Profile
	octets  int
	content int // first octet behind marks and length
}

var sums = []string{"", "sum8", "xor8", "sum8-twos-complement", "fletcher16",
	"crc8 poly=0x07 init=0x00 refin=false refout=false xorout=0x00",
	"crc16 poly=0x8005 init=0xFFFF refin=true refout=true xorout=0x0000"}

func draw(t *rapid.T) *link.Profile {
	m := made{t: t, p: &link.Profile{Name: "drawn", Line: line9600, Framing: link.Framing{Gap: handGap}}}
	f := &m.p.Framing
	mark := func(label string) []uint16 {
		return rapid.SliceOfN(rapid.SampledFrom([]uint16{0x7E, 0x02, 0x03, 0xAA, 0x55}), 0, 2).Draw(t, label)
	}
	f.Start, f.End = mark("start"), mark("end")
	f.Break = rapid.IntRange(0, 4).Draw(t, "break") == 0
	f.Coding = rapid.SampledFrom([]link.Coding{link.CodingPlain, link.CodingEscape, link.CodingHex}).Draw(t, "coding")
	switch f.Coding {
	case link.CodingEscape:
		f.Escape = link.Escape{Mark: 0x7D, Xor: 0x20}
	}
	m.content = len(f.Start)
	if f.Break {
		m.content++
	}
	m.checksum()
	m.measure()
	for range rapid.IntRange(1, 4).Draw(t, "shapes") {
		m.shape()
	}
	return m.p
}

// checksum stands before the end mark or, where there is one, at times behind it.
func (m *made) checksum() {
	name := rapid.SampledFrom(sums).Draw(m.t, "sum")
	f := &m.p.Framing
	m.octets = len(f.End)
	if name == "" {
		return
	}
	s, err := checksum.Parse(name)
	if err != nil {
		m.t.Fatal(err)
	}
	at := -s.Size() - len(f.End)
	if len(f.End) > 0 && rapid.Bool().Draw(m.t, "behind") {
		f.After, at = s.Size(), -s.Size()
	}
	m.octets += s.Size()
	m.p.Checksum = &checksum.Spec{Sum: s, From: rapid.IntRange(0, m.content).Draw(m.t, "from"), To: at, At: at,
		Order: rapid.SampledFrom([]checksum.Order{checksum.Big, checksum.Little}).Draw(m.t, "order")}
}

// measure draws how a frame's end is known and how long frames are.
func (m *made) measure() {
	f := &m.p.Framing
	tail := len(f.End) + f.After
	way := rapid.IntRange(0, 2).Draw(m.t, "measure")
	if way == 1 {
		f.Length = &link.Length{At: m.content, Counts: link.Counts(rapid.IntRange(0, 2).Draw(m.t, "counts")), Add: rapid.IntRange(-1,
			1).Draw(m.t, "add")}
		m.content++
	}
	m.octets += m.content + 1 + rapid.IntRange(2, 20).Draw(m.t, "octets")
	switch {
	case way == 2 && f.Coding == link.CodingPlain:
		f.Fixed = m.octets
	case way == 2 && f.Coding == link.CodingHex:
		head := len(f.Start)
		if f.Break {
			head++
		}
		f.Fixed = head + tail + 2*(m.octets-head-tail)
	}
}

// shape is known by its first octet of content; fields share none.
func (m *made) shape() {
	t, n := m.t, len(m.p.Shapes)
	s := link.Shape{Name: fmt.Sprint("shape ", n), Length: m.octets, Match: []link.Match{{At: m.content, Mask: 0xFF, Value: byte(0x10 + n)}}}
	behind := len(m.p.Framing.End) + m.p.Framing.After
	if m.p.Checksum != nil {
		behind = -min(m.p.Checksum.At, -behind)
	}
	for at := m.content + 1; at < m.octets-behind; {
		f := link.Field{Name: fmt.Sprint("field ", at), At: at, Signed: rapid.Bool().Draw(t, "signed"),
			Octets: rapid.IntRange(1, min(8, m.octets-behind-at)).Draw(t, "octets"), Order: rapid.SampledFrom([]checksum.Order{checksum.Big,
				checksum.Little}).Draw(t, "order")}
		f.Bit = rapid.IntRange(0, 8*f.Octets-1).Draw(t, "bit")
		f.Bits = rapid.IntRange(1, 8*f.Octets-f.Bit).Draw(t, "bits")
		if rapid.Bool().Draw(t, "from the end") {
			f.At -= m.octets
		}
		s.Fields = append(s.Fields, f)
		at += f.Octets
	}
	m.p.Shapes = append(m.p.Shapes, s)
}

// numbers draws one for every field.
func numbers(t *rapid.T, s *link.Shape) (set map[string]int64, want []link.Number) {
	set = map[string]int64{}
	for i, f := range s.Fields {
		n := rapid.Int64().Draw(t, f.Name)
		if f.Signed {
			n = n << (64 - f.Bits) >> (64 - f.Bits)
		} else {
			n = int64(uint64(n) << (64 - f.Bits) >> (64 - f.Bits))
		}
		set[f.Name] = n
		want = append(want, link.Number{Field: i, N: n})
	}
	return set, want
}
