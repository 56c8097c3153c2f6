package plots

import (
	"fmt"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"linewitness/decode/tally"
	"linewitness/decode/verdict"
)

// eyeFrom is where an eye's picture begins, in unit intervals: half of one before an edge, so that an opening stands in the middle.
const eyeFrom = -0.5

// eyeOf shows where in the unit interval a sender's edges come.
func eyeOf(s *tally.Sums, unit float64, v *verdict.Volts) Chart {
	n := s.Whole.Characters + s.Damaged.Characters
	c := Chart{Name: "eye-" + fileOf(s.Side), Title: "Eye: " + nameOf(s.Side)}
	c.Caption = fmt.Sprintf("%d characters laid over each other, from their start edges on; the darker, the more often. An edge in its place stands at a whole number; "+
		"a receiver looks in the middle between two. Start edges are not counted.", n)
	if s.Damaged.Characters > 0 {
		c.Caption += fmt.Sprintf(" %d of the characters stand in damaged frames: their edges are drawn in the colour of faults.", s.Damaged.Characters)
	}
	picture, height := rails(s), fmt.Sprintf("edges in 1/%d unit interval, logarithmic", tally.EyeSteps)
	if s.Volts != nil && s.Volts.Rows() > 1 {
		picture, height = heat(s.Volts, v), unitOf(v)+"; "+height
	}
	c.Plot = newChart(c.Title, fmt.Sprintf("time in unit intervals of %s", withUnit(unit*1e6, "µs")),
		height, eyeFrom, eyeFrom+tally.EyeBits, quarters,
		picture, edgesOf(s, tally.Mark, "edges to mark"), edgesOf(s, tally.Space, "edges to space"))
	return c
}

func unitOf(v *verdict.Volts) string {
	switch {
	case v != nil && v.Relative:
		return "part of full scale"
	case v != nil && v.Amperes:
		return "A"
	}
	return "V"
}

// numberOf is a height of the line for an axis, with a unit that is short.
func numberOf(at float64, v *verdict.Volts) string {
	if u := unitOf(v); len(u) == 1 {
		return number(at) + " " + u
	}
	return number(at)
}

// eachColumn goes through an eye's columns as they are drawn: the one half of which lies before the picture's beginning comes at both
// ends.
func eachColumn(do func(column int, from, to float64)) {
	const before = -eyeFrom * tally.EyeSteps
	for i := range tally.EyeColumns + 1 {
		from := eyeFrom + (float64(i)-0.5)/tally.EyeSteps
		to := math.Min(from+1./tally.EyeSteps, eyeFrom+tally.EyeBits)
		do((i+tally.EyeColumns-before)%tally.EyeColumns, math.Max(from, eyeFrom), to)
	}
}

// edgesOf are the counts of one kind of edge.
func edgesOf(s *tally.Sums, to int, name string) strip {
	st := strip{name: name, log: true}
	eachColumn(func(c int, left, right float64) {
		whole, bad := s.Whole.To[to][c], s.Damaged.To[to][c]
		st.bars = append(st.bars, bar{left, right, float64(whole + bad), float64(bad)})
	})
	return st
}

const eyeShare = 2.4

// rails are the two states as bars as dark as they are frequent, and the edges between them.
func rails(s *tally.Sums) strip {
	const thick = 0.12
	return strip{name: "", share: eyeShare, ticks: []plot.Tick{{Value: 1 - thick/2, Label: "mark"}, {Value: thick / 2, Label: "space"}},
		picture: func(c draw.Canvas, x, y placeY) {
			most, edges := int64(1), int64(1)
			for i := range tally.EyeColumns {
				most = max(most, s.Whole.Seen(i)+s.Damaged.Seen(i))
				edges = max(edges, edgesAt(&s.Whole, i)+edgesAt(&s.Damaged, i))
			}
			band := func(low, high float64, count func(column int) int64, most int64) {
				runs(func(i int) float64 { return darkness(count(i), most) }, func(from, to, dark float64) {
					fillBox(c, shade(dark), x(from), x(to), y(low), y(high))
				})
			}
			space := func(i int) int64 { return s.Whole.Space(i) + s.Damaged.Space(i) }
			band(thick, 1-thick, func(i int) int64 { return edgesAt(&s.Whole, i) }, edges)
			eachColumn(func(i int, from, to float64) {
				if bad := edgesAt(&s.Damaged, i); bad > 0 { // thinner than a column, so that the whole ones show behind
					middle, quarter := (x(from)+x(to))/2, (x(to)-x(from))/4*vg.Length(darkness(bad, edges))
					fillBox(c, broken, middle-quarter, middle+quarter, y(thick), y(1-thick))
				}
			})
			band(1-thick, 1, func(i int) int64 { return s.Whole.Seen(i) + s.Damaged.Seen(i) - space(i) }, most)
			band(0, thick, space, most)
		}}
}

// edgesAt are the edges of both kinds in a column.
func edgesAt(e *tally.Eye, column int) int64 {
	return e.To[tally.Mark][column] + e.To[tally.Space][column]
}

// runs joins columns that are equally dark.
func runs(darkness func(column int) float64, draw func(from, to, dark float64)) {
	from, to, dark := 0., 0., 0.
	flush := func() {
		if dark > 0 {
			draw(from, to, dark)
		}
	}
	eachColumn(func(column int, left, right float64) {
		if d := darkness(column); d != dark {
			flush()
			from, dark = left, d
		}
		to = right
	})
	flush()
}

// darkness is a count's shade on a logarithmic scale of five steps; 0 has none.
func darkness(n, most int64) float64 {
	if n <= 0 {
		return 0
	}
	const steps = 5
	part := (math.Log(float64(n)) + 1) / (math.Log(float64(max(most, n))) + 1)
	return math.Ceil(part*steps) / steps
}
