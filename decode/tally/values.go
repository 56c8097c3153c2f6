package tally

import (
	"math"

	"linewitness/capture"
	"linewitness/decode/link"
)

// Value is what one field of one kind of frame carried, in the field's unit.
type Value struct {
	Shape, Field, Unit string
	Side               capture.Side // of the last frame
	N                  int64        // good frames that carried it
	Unread             int64        // of those, numbers that are no value: a sensor open or shorted
	First, Last        float64      // NaN where there was none
	Low, High          float64
	FirstAt, LastAt    capture.Tick
	Names              []NamedCount // of single numbers, or of the flags that were ever set
}

// NamedCount counts the good frames that carried a named number, or a flag.
type NamedCount struct {
	Name   string
	N      int64
	LastAt capture.Tick
}

// Values folds the numbers of good frames. It holds as much as the profile has fields.
type Values struct {
	p       *link.Profile
	all     [][]Value // by shape and field
	numbers []link.Number
}

// NewValues begins an empty fold.
func NewValues(p *link.Profile) *Values {
	v := &Values{p: p, all: make([][]Value, len(p.Shapes))}
	for i := range p.Shapes {
		s := &p.Shapes[i]
		v.all[i] = make([]Value, len(s.Fields))
		for k := range s.Fields {
			f := &s.Fields[k]
			x := &v.all[i][k]
			*x = Value{Shape: s.Name, Field: f.Name, Unit: f.Unit, First: math.NaN(), Last: math.NaN(), Low: math.NaN(), High: math.NaN()}
			if f.Curve != nil {
				x.Unit = "degC"
			}
			for _, n := range f.Names {
				x.Names = append(x.Names, NamedCount{Name: n.Name})
			}
		}
	}
	return v
}

// Add folds a frame; bad ones and those of no known kind carry nothing.
func (v *Values) Add(f *link.Frame) {
	if !f.OK() || f.Shape < 0 || f.Shape >= len(v.all) {
		return
	}
	v.numbers = v.p.Dissect(v.numbers[:0], f.Octets, f.Shape)
	fields := v.p.Shapes[f.Shape].Fields
	for _, n := range v.numbers {
		x := &v.all[f.Shape][n.Field]
		x.Side = f.Side
		x.add(&fields[n.Field], n.N, f.At)
	}
}

func (x *Value) add(f *link.Field, n int64, at capture.Tick) {
	x.N++
	for i := range f.Names {
		if f.Flags && n>>f.Names[i].Number&1 == 1 || !f.Flags && f.Names[i].Number == n {
			x.Names[i].N++
			x.Names[i].LastAt = at
		}
	}
	value := f.Value(n)
	if math.IsNaN(value) {
		x.Unread++
		return
	}
	if x.N-x.Unread == 1 {
		x.First, x.FirstAt, x.Low, x.High = value, at, value, value
	}
	x.Last, x.LastAt = value, at
	x.Low, x.High = math.Min(x.Low, value), math.Max(x.High, value)
}

// All lists the fields that were seen, in the profile's order.
func (v *Values) All() (seen []Value) {
	for _, fields := range v.all {
		for _, x := range fields {
			if x.N > 0 {
				x.Names = append([]NamedCount(nil), x.Names...)
				seen = append(seen, x)
			}
		}
	}
	return seen
}
