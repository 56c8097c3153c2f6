package linkfile

import (
	"encoding/hex"
	"fmt"
	"math"
	"strings"

	"linewitness/decode/link"
)

// framingOf writes silences in characters where that is a round number of them, else in ms.
func framingOf(f *link.Framing, char float64, bits uint8) framingPart {
	out := framingPart{Fixed: f.Fixed, AfterEnd: f.After, Break: f.Break, Modbus: f.Modbus, Coding: keyOf(codings, f.Coding),
		Start: marksOf(f.Start, bits), End: marksOf(f.End, bits)}
	if n := characters(f.Gap, char); n > 0 {
		out.GapChars = n
	} else {
		gap := f.Gap
		out.GapMS = &gap
	}
	if n := characters(f.Inside, char); n > 0 {
		out.InChars = n
	} else {
		out.InsideMS = f.Inside
	}
	if l := f.Length; l != nil {
		out.Length = &lengthPart{At: l.At, Counts: keyOf(counts, l.Counts), Add: l.Add}
	}
	if f.Coding == link.CodingEscape {
		out.Escape = &escapePart{Mark: int(f.Escape.Mark), Xor: int(f.Escape.Xor)}
	}
	return out
}

// characters is a silence in characters where that is a multiple of a half and exact; else 0.
func characters(silence, char float64) float64 {
	n := math.Round(2*silence/char) / 2
	if n < 0.5 || n > 1000 || n*char != silence {
		return 0
	}
	return n
}

func marksOf(mark []uint16, bits uint8) hexText {
	var s strings.Builder
	for _, c := range mark {
		if bits > 8 {
			fmt.Fprintf(&s, "%04X", c)
		} else {
			fmt.Fprintf(&s, "%02X", c)
		}
	}
	return hexText(s.String())
}

func frameOf(s *link.Shape) framePart {
	f := framePart{Name: text(s.Name), From: keyOf(sides, s.From), Length: s.Length, AfterStart: s.Start}
	for _, m := range s.Match {
		f.Match = append(f.Match, matchPart{At: m.At, Is: int(m.Value), Mask: int(m.Mask)})
	}
	for _, a := range s.Answers {
		f.AnsweredBy = append(f.AnsweredBy, text(a))
	}
	pairs := make([]string, len(s.Constant))
	for i, b := range s.Constant {
		pairs[i] = strings.ToUpper(hex.EncodeToString([]byte{b}))
	}
	f.Template = hexText(strings.Join(pairs, " "))
	for i := range s.Fields {
		f.Fields = append(f.Fields, fieldOfLink(&s.Fields[i]))
	}
	return f
}

func fieldOfLink(f *link.Field) fieldPart {
	out := fieldPart{Name: text(f.Name), At: f.At, Octets: f.Octets, Order: orderWord(f.Order), Bit: f.Bit, Bits: f.Bits,
		Signed: f.Signed, Scale: f.Scale, Offset: f.Offset, Unit: label(f.Unit), Counter: f.Counter}
	if f.Bits == 8*f.Octets-f.Bit {
		out.Bits = 0
	}
	var list names
	for _, n := range f.Names {
		list = append(list, named{n.Number, text(n.Name)})
	}
	if f.Flags {
		out.Flags = list
	} else {
		out.Names = list
	}
	if t := f.Curve; t != nil {
		out.Thermistor = &thermistorPart{R25: t.R25, Beta: t.Beta, Pull: t.Pull, Full: t.Full, PullDown: t.PullDown}
		for _, p := range t.Points {
			out.Thermistor.Points = append(out.Thermistor.Points, point{p.DegC, p.Ohm})
		}
		if f.Unit == thermistorUnit {
			out.Unit = ""
		}
	}
	return out
}
