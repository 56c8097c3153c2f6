package linkfile

import (
	"fmt"
	"slices"

	"linewitness/decode/link"
	"linewitness/decode/link/strict"
)

// standardGap is the silence that ends a frame where a file names none, in characters (Modbus over Serial Line V1.02,
// clause 2.5.1.1).
const standardGap = 3.5

func (b *builder) framing() *strict.Error {
	f, out := &b.doc.Framing, &b.p.Framing
	if err := b.together(); err != nil {
		return err
	}
	for _, part := range []func() *strict.Error{b.silences, b.marks, b.escape} {
		if err := part(); err != nil {
			return err
		}
	}
	out.Fixed, out.Break, out.Modbus, out.Coding, out.After = f.Fixed, f.Break, f.Modbus, codings[f.Coding], f.AfterEnd
	if least := b.least(); f.Fixed != 0 && f.Fixed < least {
		return b.Wrong("framing.fixed", fmt.Sprintf("at least %d, the characters of break and marks", least), fmt.Sprint(f.Fixed))
	}
	if l := f.Length; l != nil {
		out.Length = &link.Length{At: l.At, Counts: counts[l.Counts], Add: l.Add}
	}
	return nil
}

// together refuses keys of framing that contradict each other.
func (b *builder) together() *strict.Error {
	pairs := []struct{ here, other string }{
		{"length", "fixed"}, {"gap_characters", "gap_ms"}, {"inside_characters", "inside_ms"},
	}
	for _, p := range pairs {
		if b.Has("framing."+p.here) && b.Has("framing."+p.other) {
			return b.clash(p.here, "no "+p.here+" beside "+p.other)
		}
	}
	f := &b.doc.Framing
	if f.Modbus {
		for _, key := range []string{"fixed", "length", "start", "end", "after_end", "break", "coding", "escape"} {
			if b.Has("framing." + key) {
				return b.clash(key, "no "+key+" beside modbus")
			}
		}
	}
	switch {
	case f.AfterEnd > 0 && f.End == "":
		return b.Wrong("framing.after_end", "an end mark beside it", "none")
	case f.Escape != nil && f.Coding != "escape":
		return b.Wrong("framing.escape", "coding: escape beside it", "coding: "+f.Coding)
	case f.Coding == "escape" && f.Escape == nil:
		return b.Wrong("framing.coding", "an escape beside it", "none")
	case f.Coding == "hex" && b.p.Line.Format.DataBits < 7:
		return b.Wrong("framing.coding", "a coding for characters of "+fmt.Sprint(b.p.Line.Format.DataBits)+" bits", "hex")
	}
	return nil
}

// clash is an error at a key that must not stand there.
func (b *builder) clash(key, expected string) *strict.Error {
	return b.WrongKey("framing."+key, expected, "both")
}

// silences sets Gap and Inside, in seconds.
func (b *builder) silences() *strict.Error {
	f, out := &b.doc.Framing, &b.p.Framing
	char := b.p.Line.Format.Length() / b.p.Line.Speed
	switch {
	case f.GapMS != nil:
		out.Gap = *f.GapMS
	case f.GapChars > 0:
		out.Gap = f.GapChars * char
	default:
		out.Gap = standardGap * char
	}
	path := "framing.inside_ms"
	out.Inside = f.InsideMS
	if f.InChars > 0 {
		path, out.Inside = "framing.inside_characters", f.InChars*char
	}
	if out.Gap > 0 && out.Inside > out.Gap {
		return b.Wrong(path, fmt.Sprintf("no more than the silence that ends a frame, %s ms", strict.Number(out.Gap*1000)), strict.Number(out.Inside*1000)+" ms")
	}
	return nil
}

// marks sets Start and End.
func (b *builder) marks() (err *strict.Error) {
	if b.p.Framing.Start, err = b.characters("framing.start", b.doc.Framing.Start); err != nil {
		return err
	}
	b.p.Framing.End, err = b.characters("framing.end", b.doc.Framing.End)
	return err
}

// characters reads hexadecimal characters: two digits each, of 9 data bits four.
func (b *builder) characters(path string, h hexText) ([]uint16, *strict.Error) {
	octets, _ := h.octets()
	bits, size := b.p.Line.Format.DataBits, 1
	if bits > 8 {
		size = 2
	}
	if len(octets)%size != 0 {
		return nil, b.Wrong(path, "four digits a character of 9 bits", strict.Quote(string(h)))
	}
	if len(octets)/size > 256 {
		return nil, b.Wrong(path, "at most 256 characters", fmt.Sprint(len(octets)/size))
	}
	var out []uint16
	for i := 0; i < len(octets); i += size {
		c := uint16(octets[i])
		if size == 2 {
			c = c<<8 | uint16(octets[i+1])
		}
		if c>>bits != 0 {
			return nil, b.Wrong(path, fmt.Sprintf("characters of %d bits", bits), fmt.Sprintf("%0*X", 2*size, c))
		}
		out = append(out, c)
	}
	return out, nil
}

func (b *builder) escape() *strict.Error {
	e := b.doc.Framing.Escape
	if e == nil {
		return nil
	}
	bits := b.p.Line.Format.DataBits
	if e.Mark>>bits != 0 {
		return b.Wrong("framing.escape.mark", fmt.Sprintf("a character of %d bits", bits), fmt.Sprintf("0x%02X", e.Mark))
	}
	if e.Xor>>bits != 0 {
		return b.Wrong("framing.escape.xor", fmt.Sprintf("a character of %d bits", bits), fmt.Sprintf("0x%02X", e.Xor))
	}
	out := &b.p.Framing
	if slices.Contains(out.Start, uint16(e.Mark)) || slices.Contains(out.End, uint16(e.Mark)) {
		return b.Wrong("framing.escape.mark", "no character of the frame's marks", fmt.Sprintf("0x%02X", e.Mark))
	}
	out.Escape = link.Escape{Mark: byte(e.Mark), Xor: byte(e.Xor)}
	return nil
}

// least is how many characters every frame has: break, marks and what follows them.
func (b *builder) least() int {
	f := &b.p.Framing
	n := len(f.Start) + len(f.End) + b.doc.Framing.AfterEnd
	if b.doc.Framing.Break {
		n++
	}
	return max(n, 1)
}

// octets is how many octets every frame has with its coding taken off; 0: they differ.
func (b *builder) octets() int {
	if b.p.Framing.Coding == link.CodingPlain {
		return b.p.Framing.Fixed
	}
	return 0
}
