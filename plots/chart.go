package plots

import (
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Chart is a figure of the recording as a whole. Name is that of its files; Caption says in plain words what is seen.
type Chart struct {
	Name, Title, Caption string
	Plot                 *plot.Plot
}

// strip is one of the lanes of a chart: bars over the common axis, or what its own picture draws.
type strip struct {
	name    string
	share   float64 // of the height, against the others'; 0: 1
	bars    []bar
	log     bool // the height is the logarithm of the count
	picture func(draw.Canvas, placeY, placeY)
	ticks   []plot.Tick // of a picture, by the height 0..1 in it
}

// bar is a count over a part of the axis, and what of it is out of order.
type bar struct{ from, to, value, bad float64 }

// chart draws strips, the first on top.
type chart struct {
	strips []strip
	text   text.Handler
}

const stripGap = 0.22 // of a strip's height, above it

// newChart makes the plot of strips over an axis from low to high, with the axes' titles.
func newChart(title, axis, height string, low, high float64, ticks plot.TickerFunc, strips ...strip) *plot.Plot {
	f := &chart{strips: strips}
	p := plot.New()
	f.text = p.TextHandler
	p.BackgroundColor = paper
	p.Title.Text = title
	p.Title.TextStyle = aligned(f.lettering(large, ink), text.XCenter, text.YTop)
	p.Title.Padding = 3
	if !(high > low) {
		low, high = low-0.5, low+0.5
	}
	p.X.Min, p.X.Max = low, high
	p.X.Label.Text = axis
	p.X.Label.TextStyle = aligned(f.lettering(medium, quiet), text.XCenter, text.YBottom)
	p.X.Label.Padding = 4
	p.X.Tick.Label = aligned(f.lettering(small, ink), text.XCenter, text.YTop)
	p.X.Tick.Marker = ticks
	p.X.LineStyle, p.X.Tick.LineStyle = stroke(quiet, 0.5), stroke(quiet, 0.5)
	p.X.Padding = 0

	var names []plot.Tick
	p.Y.Min, p.Y.Max = -f.height(), 0
	f.each(func(s *strip, base, top float64) {
		names = append(names, plot.Tick{Value: (base + top) / 2, Label: s.name + "  "})
		for _, t := range s.ticks {
			names = append(names, plot.Tick{Value: base + t.Value*(top-base), Label: t.Label + "  "})
		}
	})
	p.Y.Label.Text = height
	p.Y.Label.TextStyle = aligned(f.lettering(medium, quiet), text.XCenter, text.YBottom)
	p.Y.Label.Padding = 4
	p.Y.Tick.Marker = plot.ConstantTicks(names)
	p.Y.Tick.Label = aligned(f.lettering(small, ink), text.XRight, text.YCenter)
	p.Y.Tick.Length = 0
	p.Y.LineStyle.Width = 0
	p.Y.Padding = 3
	p.Add(f)
	return p
}

func (f *chart) lettering(size vg.Length, c colour) text.Style { return lettering(size, c, f.text) }

func (s *strip) weight() float64 {
	if s.share == 0 {
		return 1
	}
	return s.share
}

// height is that of all strips, in heights of the usual one.
func (f *chart) height() (sum float64) {
	for i := range f.strips {
		sum += f.strips[i].weight() + stripGap
	}
	return sum
}

// each goes through the strips with their places on the vertical axis.
func (f *chart) each(do func(s *strip, base, top float64)) {
	y := 0.
	for i := range f.strips {
		s := &f.strips[i]
		y -= stripGap
		do(s, y-s.weight(), y)
		y -= s.weight()
	}
}

// Plot implements plot.Plotter.
func (f *chart) Plot(c draw.Canvas, p *plot.Plot) {
	toX, toY := p.Transforms(&c)
	f.each(func(s *strip, base, top float64) {
		if s.picture != nil {
			s.picture(c, toX, func(y float64) vg.Length { return toY(base + y*(top-base)) })
			return
		}
		f.bars(c, s, toX, func(y float64) vg.Length { return toY(base + y*(top-base)) })
	})
}

// bars draws guides with their numbers, the bars, and over them what is out of order.
func (f *chart) bars(c draw.Canvas, s *strip, x, y placeY) {
	scale, guides := s.scale()
	c.StrokeLine2(stroke(quiet, 0.5), c.Min.X, y(0), c.Max.X, y(0))
	for _, g := range guides {
		c.StrokeLine2(stroke(rule, 0.5), c.Min.X, y(scale(g)), c.Max.X, y(scale(g)))
	}
	f.silhouette(c, s.bars, ink, x, func(b *bar) vg.Length { return y(scale(b.value)) }, y(0))
	f.silhouette(c, s.bars, broken, x, func(b *bar) vg.Length { return y(scale(b.bad)) }, y(0))
	if len(guides) == 0 {
		c.FillText(aligned(f.lettering(small, quiet), text.XCenter, text.YCenter), vg.Point{X: (c.Min.X + c.Max.X) / 2, Y: y(0.5)}, "none")
		return
	}
	for i, g := range guides {
		if i == len(guides)-1 || s.log {
			f.number(c, number(g), y(scale(g)))
		}
	}
}

// number writes a guide's number beyond its right end.
func (f *chart) number(c draw.Canvas, label string, y vg.Length) {
	c.FillText(aligned(f.lettering(small, quiet), text.XLeft, text.YCenter), vg.Point{X: c.Max.X + 4, Y: y}, label)
}

// GlyphBoxes implements plot.GlyphBoxer: room for the guides' numbers.
func (f *chart) GlyphBoxes(*plot.Plot) []plot.GlyphBox {
	wide := vg.Length(0)
	for i := range f.strips {
		s := &f.strips[i]
		if s.picture != nil {
			continue
		}
		_, guides := s.scale()
		for _, g := range guides {
			wide = max(wide, f.lettering(small, quiet).Width(number(g))+4)
		}
	}
	return []plot.GlyphBox{{X: 1, Y: 0.5, Rectangle: vg.Rectangle{Max: vg.Point{X: wide}}}}
}

// scale puts the strip's counts into 0..1, with guides.
func (s *strip) scale() (func(float64) float64, []float64) {
	most := 0.
	for _, b := range s.bars {
		most = math.Max(most, b.value)
	}
	if s.log {
		return logarithmic(most)
	}
	return linear(most)
}

// silhouette fills bars that touch as one shape; what has no height has none.
func (f *chart) silhouette(c draw.Canvas, bars []bar, clr colour, x placeY, height func(*bar) vg.Length, base vg.Length) {
	var shape []vg.Point
	last := math.NaN()
	end := func() {
		if len(shape) > 0 {
			c.FillPolygon(clr, append(shape, vg.Point{X: shape[len(shape)-1].X, Y: base}))
		}
		shape = nil
	}
	for i := range bars {
		b := &bars[i]
		top := height(b)
		if !(top > base) {
			end()
			continue
		}
		left, right := x(b.from), x(b.to)
		if math.Abs(b.from-last) > 1e-6*(b.to-b.from) {
			end()
		}
		if right-left < pixel {
			right = left + pixel
		}
		if len(shape) == 0 {
			shape = append(shape, vg.Point{X: left, Y: base})
		}
		shape = append(shape, vg.Point{X: left, Y: top}, vg.Point{X: right, Y: top})
		last = b.to
	}
	end()
}
