package output

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"linewitness/capture"
	"linewitness/decode"
	"linewitness/decode/link"
	"linewitness/decode/tally"
)

type valueJSON struct {
	Side    string      `json:"side"`
	Kind    string      `json:"kind"` // of frame
	Field   string      `json:"field"`
	Unit    *string     `json:"unit"`
	Count   int64       `json:"count"`
	Unread  int64       `json:"unread"` // numbers that are no value, such as those of an open sensor
	First   number      `json:"first"`
	Last    number      `json:"last"`
	Low     number      `json:"low"`
	High    number      `json:"high"`
	FirstAt *moment     `json:"first_at_s"`
	LastAt  *moment     `json:"last_at_s"`
	Names   []namedJSON `json:"names"`
}

type namedJSON struct {
	Name  string `json:"name"`
	Count int64  `json:"count"`
}

func newValue(v *tally.Value, clock capture.Clock) valueJSON {
	j := valueJSON{
		Side: v.Side.String(), Kind: v.Shape, Field: v.Field, Unit: known(v.Unit), Count: v.N, Unread: v.Unread,
		First: number(v.First), Last: number(v.Last), Low: number(v.Low), High: number(v.High),
		Names: each(v.Names, func(n *tally.NamedCount) namedJSON { return namedJSON{n.Name, n.N} }),
	}
	if v.N > v.Unread {
		j.FirstAt, j.LastAt = &moment{v.FirstAt, clock}, &moment{v.LastAt, clock}
	}
	return j
}

// appendValues lists what frames carried, a line a field.
func appendValues(b []byte, f *decode.Finding) []byte {
	if len(f.Values) == 0 {
		return b
	}
	b = append(b, "\nValues in good frames:\n"...)
	kind := ""
	for i := range f.Values {
		v := &f.Values[i]
		if v.Shape != kind {
			kind = v.Shape
			b = appendWrapped(b, indent, indent+indent, fmt.Sprintf("%s (%s, %s):", kind, v.Side, counted(v.N, "frame")))
		}
		b = appendWrapped(b, indent+indent, indent+indent+indent, v.Field+" "+valueSays(v))
	}
	return b
}

// valueSays is a field's range in its unit, or the names that it had.
func valueSays(v *tally.Value) string {
	if len(v.Names) > 0 {
		var seen []string
		for _, n := range v.Names {
			if n.N > 0 {
				seen = append(seen, fmt.Sprintf("%s %d", n.Name, n.N))
			}
		}
		if len(seen) == 0 {
			return "none of its names"
		}
		return strings.Join(seen, ", ")
	}
	if v.N == v.Unread {
		return "no value: the sensor is open or shorted"
	}
	says := figure(v.Low)
	if v.High != v.Low {
		says += " to " + figure(v.High) + ", last " + figure(v.Last)
	}
	if v.Unit != "" {
		says += string(tied) + v.Unit
	}
	if v.Unread > 0 {
		says += fmt.Sprintf(" (%d of %d unreadable: open or shorted)", v.Unread, v.N)
	}
	return says
}

// figure is a value at the accuracy that a field can have.
func figure(v float64) string {
	if math.Abs(v) < 1e6 {
		return trimmed(v, 2)
	}
	return strconv.FormatFloat(v, 'g', 6, 64)
}

// fields appends what a frame carries: in JSON an object by field, and the same for a cell of CSV. A frame of no known kind
// has neither.
type fields struct {
	p       *link.Profile // nil, or without shapes: nothing is known of frames
	numbers []link.Number
}

func (e *fields) of(f *link.Frame) (shape *link.Shape) {
	if e.p == nil || !f.OK() || f.Shape < 0 || f.Shape >= len(e.p.Shapes) {
		return nil
	}
	e.numbers = e.p.Dissect(e.numbers[:0], f.Octets, f.Shape)
	return &e.p.Shapes[f.Shape]
}

// appendJSON appends the keys kind and values, a comma before each.
func (e *fields) appendJSON(dst []byte, f *link.Frame) []byte {
	s := e.of(f)
	if s == nil {
		return dst
	}
	dst = append(append(dst, `,"kind":`...), quoteJSON(s.Name)...)
	dst = append(dst, `,"values":{`...)
	for i, n := range e.numbers {
		field := &s.Fields[n.Field]
		if i > 0 {
			dst = append(dst, ',')
		}
		dst = append(append(dst, quoteJSON(field.Name)...), `:{"value":`...)
		dst = appendValue(dst, field, n.N, "null")
		if unit := unitOf(field); unit != "" {
			dst = append(append(dst, `,"unit":`...), quoteJSON(unit)...)
		}
		if names := namesOf(field, n.N); len(names) > 0 {
			dst = append(append(dst, `,"name":`...), quoteJSON(strings.Join(names, "+"))...)
		}
		dst = append(dst, '}')
	}
	return append(dst, '}')
}

// text is what stands in a cell: field=value unit, parted by semicolons.
func (e *fields) text(f *link.Frame) (kind, values string) {
	s := e.of(f)
	if s == nil {
		return "", ""
	}
	var b []byte
	for i, n := range e.numbers {
		field := &s.Fields[n.Field]
		if i > 0 {
			b = append(b, "; "...)
		}
		b = append(append(b, field.Name...), '=')
		if names := namesOf(field, n.N); len(names) > 0 {
			b = append(b, strings.Join(names, "+")...)
			continue
		}
		b = appendValue(b, field, n.N, "?")
		if unit := unitOf(field); unit != "" {
			b = append(append(b, ' '), unit...)
		}
	}
	return s.Name, string(b)
}

func appendValue(dst []byte, f *link.Field, n int64, none string) []byte {
	v := f.Value(n)
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return append(dst, none...)
	}
	return strconv.AppendFloat(dst, math.Round(v*1e6)/1e6, 'f', -1, 64)
}

func unitOf(f *link.Field) string {
	if f.Curve != nil {
		return "degC"
	}
	return f.Unit
}

// namesOf are the names of a number, or of the flags set in it.
func namesOf(f *link.Field, n int64) (names []string) {
	if !f.Flags {
		if name, ok := f.NameOf(n); ok {
			names = append(names, name)
		}
		return names
	}
	for _, x := range f.Names {
		if x.Number >= 0 && x.Number < 64 && n>>x.Number&1 == 1 {
			names = append(names, x.Name)
		}
	}
	return names
}
