package plots

import (
	"bytes"
	"fmt"
	"html"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"unicode"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgsvg"

	"linewitness/capture"
	"linewitness/decode/tally"
	"linewitness/decode/uart"
)

// A figure's size: 720 points are 960 pixels of a page.
const (
	Width  = 720 * vg.Length(1)
	Height = 264 * vg.Length(1)
)

// Heights of the lanes in the unit of the vertical axis, in which low stands at 0 and high at 2.
const (
	noteBase  = 2.55
	noteStep  = 0.62
	noteRows  = 2
	charTop   = -0.55
	charBase  = -1.25
	frameTop  = -1.7
	frameBase = -2.4
	axisMin   = -2.6
	axisMax   = noteBase + noteRows*noteStep + 0.1
)

// Line is the figure of one excerpt. A line of speed 0 is one whose polarity is not known: its levels are then not
// called mark and space.
func Line(e tally.Excerpt, clock capture.Clock, line uart.Line) *plot.Plot {
	if !clock.Valid() {
		clock = capture.Nanoseconds
	}
	if e.To < e.From {
		e.To = e.From
	}
	f := &figure{e: e, clock: clock, line: line, perUnit: 1e3}
	f.scale, f.volts = scaleOf(&e)
	unit := "ms"
	length := clock.Seconds(e.To - e.From)
	if length > 20 {
		f.perUnit, unit = 1, "s"
	}

	p := plot.New()
	f.text = p.TextHandler
	p.BackgroundColor = paper
	p.Title.Text = clean(e.What, 90)
	if p.Title.Text == "" {
		p.Title.Text = "the line"
	}
	p.Title.TextStyle = aligned(f.lettering(large, ink), text.XCenter, text.YTop)
	p.Title.Padding = 3

	p.X.Min, p.X.Max = 0, length*f.perUnit
	if p.X.Max <= 0 {
		p.X.Max = 1 // an instant still gets an axis
	}
	p.X.Label.Text = fmt.Sprintf("time in %s after %s s on the recording's axis", unit, seconds(clock, e.From))
	if f.anyBroken() {
		p.X.Label.Text += "; a dashed box with a cross broke a rule"
	}
	p.X.Label.TextStyle = aligned(f.lettering(medium, quiet), text.XCenter, text.YBottom)
	p.X.Label.Padding = 4
	p.X.Tick.Label = aligned(f.lettering(small, ink), text.XCenter, text.YTop)
	p.X.Tick.Marker = plot.TickerFunc(steps)
	p.X.LineStyle = stroke(quiet, 0.5)
	p.X.Tick.LineStyle = stroke(quiet, 0.5)
	p.X.Padding = 0

	p.Y.Min, p.Y.Max = axisMin, axisMax
	p.Y.Tick.Marker = plot.ConstantTicks(f.laneNames())
	p.Y.Tick.Label = aligned(f.lettering(small, ink), text.XRight, text.YCenter)
	p.Y.Tick.Length = 0
	p.Y.LineStyle.Width = 0
	p.Y.Padding = 3

	p.Add(f)
	return p
}

// steps places five to eleven ticks at round values and gives all of them the same number of decimals.
func steps(low, high float64) []plot.Tick {
	raw := (high - low) / 7
	power := int(math.Floor(math.Log10(raw)))
	step := math.Pow(10, float64(power))
	switch m := raw / step; {
	case m >= 7.5:
		step *= 10
		power++
	case m >= 3.5:
		step *= 5
	case m >= 1.5:
		step *= 2
	}
	var out []plot.Tick
	for i := range 20 {
		v := low + float64(i)*step
		if v > high+step/1e6 {
			break
		}
		out = append(out, plot.Tick{Value: v, Label: strconv.FormatFloat(v, 'f', max(-power, 0), 64)})
	}
	return out
}

// laneNames label the vertical axis.
func (f *figure) laneNames() []plot.Tick {
	names := map[capture.Level]string{capture.Low: "low", capture.Mid: "mid", capture.High: "high"}
	if f.line.Speed > 0 {
		switch {
		case f.threeLevels():
			names = map[capture.Level]string{capture.Low: "low: space", capture.Mid: "mid: mark", capture.High: "high: space"}
		case f.line.Inverted:
			names = map[capture.Level]string{capture.Low: "low: mark", capture.High: "high: space"}
		default:
			names = map[capture.Level]string{capture.Low: "low: space", capture.High: "high: mark"}
		}
	}
	levels := []plot.Tick{
		{Value: lane(capture.High), Label: names[capture.High]},
		{Value: lane(capture.Low), Label: names[capture.Low]},
	}
	if f.volts {
		levels = f.heightNames(names)
	}
	ticks := append([]plot.Tick{{Value: noteBase + noteStep*noteRows/2, Label: "notes"}}, levels...)
	ticks = append(ticks, plot.Tick{Value: (charTop + charBase) / 2, Label: "characters"},
		plot.Tick{Value: (frameTop + frameBase) / 2, Label: "frames"})
	if f.threeLevels() && !f.volts {
		ticks = append(ticks, plot.Tick{Value: lane(capture.Mid), Label: names[capture.Mid]})
	}
	for i := range ticks {
		ticks[i].Label += "  " // room before the trace
	}
	return ticks
}

func lane(l capture.Level) float64 {
	switch l {
	case capture.High:
		return 2
	case capture.Mid:
		return 1
	}
	return 0
}

// figure draws an excerpt as one Plotter.
type figure struct {
	e       tally.Excerpt
	clock   capture.Clock
	line    uart.Line
	perUnit float64 // units of the time axis in a second
	text    text.Handler
	scale   scale
	volts   bool
}

func (f *figure) lettering(size vg.Length, c colour) text.Style { return lettering(size, c, f.text) }

func (f *figure) threeLevels() bool {
	if f.e.First == capture.Mid || f.volts && !math.IsNaN(f.e.Heights()[capture.Mid]) {
		return true
	}
	for _, l := range f.e.Line.To {
		if l == capture.Mid {
			return true
		}
	}
	return false
}

// Plot implements plot.Plotter.
func (f *figure) Plot(c draw.Canvas, p *plot.Plot) {
	toX, toY := p.Transforms(&c)
	x := func(t capture.Tick) vg.Length {
		t = min(max(t, f.e.From), f.e.To)
		return toX(f.clock.Seconds(t-f.e.From) * f.perUnit)
	}
	if f.volts {
		f.voltGuides(c, toY)
		f.notes(c, x, toY)
		f.voltTrace(c, x, toY)
	} else {
		f.guides(c, toY)
		f.notes(c, x, toY)
		f.trace(c, func(l capture.Level) vg.Length { return toY(lane(l)) })
	}
	f.characters(c, x, toY)
	f.frames(c, x, toY)
}

// guides are hairlines at the levels.
func (f *figure) guides(c draw.Canvas, toY func(float64) vg.Length) {
	levels := []capture.Level{capture.Low, capture.High}
	if f.threeLevels() {
		levels = append(levels, capture.Mid)
	}
	for _, l := range levels {
		c.StrokeLine2(stroke(faint, 0.5), c.Min.X, toY(lane(l)), c.Max.X, toY(lane(l)))
	}
}

// clean makes foreign text fit to stand in a figure: one line, no control characters, at most n letters.
func clean(s string, n int) string {
	s = strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return ' '
		case !unicode.IsPrint(r), r == unicode.ReplacementChar:
			return -1
		}
		return r
	}, s)
	return shorten(strings.TrimSpace(s), n)
}

// shorten cuts s to n letters, the last of which then is an ellipsis.
func shorten(s string, n int) string {
	letters := []rune(s)
	if len(letters) <= n {
		return s
	}
	return string(letters[:n-1]) + "…"
}

// on draws a figure on a canvas with a margin, which the outermost tick labels need.
func on(c vg.CanvasSizer, p *plot.Plot) {
	whole := draw.New(c)
	fillBox(whole, paper, whole.Min.X, whole.Max.X, whole.Min.Y, whole.Max.Y)
	p.Draw(draw.Crop(whole, 5, -16, 4, -4))
}

// writing is a text in an SVG document of our canvas.
var writing = regexp.MustCompile(`(?s)<text (x="[^"]*" y="[^"]*" transform="[^"]*"\s+style="font-family:)Liberation Sans(;[^"]*font-size:)([0-9.]+)(px[^"]*")>([^<]*)</text>`)

// WriteSVG writes a figure as an SVG document. It holds no font: it names its typeface and two of the same widths, and
// gives every text the width it was laid out with, so that another typeface cannot make texts run into each other.
func WriteSVG(w io.Writer, p *plot.Plot) error {
	c := vgsvg.NewWith(vgsvg.UseWH(Width, Height))
	on(c, p)
	var b bytes.Buffer
	if _, err := c.WriteTo(&b); err != nil {
		return err
	}
	_, err := w.Write(writing.ReplaceAllFunc(b.Bytes(), func(text []byte) []byte {
		m := writing.FindSubmatch(text)
		size, err := strconv.ParseFloat(string(m[3]), 64)
		if err != nil {
			return text
		}
		// A reader joins blanks within a text and drops those around it.
		words := strings.Join(strings.Fields(string(m[5])), " ")
		long := lettering(vg.Length(size), ink, p.TextHandler).Width(html.UnescapeString(words))
		return fmt.Appendf(nil, `<text textLength="%.2f" lengthAdjust="spacingAndGlyphs" %sLiberation Sans,Arial,Helvetica,sans-serif%s%s%s>%s</text>`,
			long.Points(), m[1], m[2], m[3], m[4], words)
	}))
	return err
}

// WritePNG writes a figure as a picture of twice a screen's usual density.
func WritePNG(w io.Writer, p *plot.Plot) error {
	c := vgimg.NewWith(vgimg.UseWH(Width, Height), vgimg.UseDPI(192))
	on(c, p)
	_, err := vgimg.PngCanvas{Canvas: c}.WriteTo(w)
	return err
}
