package plots

import (
	"bytes"
	"image/png"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"sort"
	"strings"
	"testing"

	"linewitness/capture"
	"linewitness/decode"
	"linewitness/decode/link"
	"linewitness/decode/tally"
)

// sampleTraffic adds an invented dialogue of 60 polls and replies to the sample: marks of the indoor unit are a tenth of a bit
// short, some of its frames are spoilt, and with volts the loop stands at 11 V.
func sampleTraffic(volts bool) *decode.Finding {
	r := rand.New(rand.NewPCG(7, 7))
	f := sampleFinding()
	f.Recording.To = 31_000_000_000
	f.Sums = []*tally.Sums{tally.NewSums(capture.Outdoor, float64(bit), 0, capture.Nanoseconds), tally.NewSums(capture.Indoor, float64(bit), 0, capture.Nanoseconds)}
	f.Envelope = tally.NewEnvelope(capture.Nanoseconds)
	for n := range 60 {
		at := capture.Tick(n)*500e6 + 100e6
		for side, s := range f.Sums {
			t := talk{level: capture.High, mark: capture.High, space: capture.Low}
			spoilt := -1
			if side == 1 && n%7 == 0 {
				spoilt = 1
			}
			fr := t.frame(at, s.Side, spoilt, 0xAA, uint16(r.IntN(256)), uint16(r.IntN(256)))
			late := capture.Tick(side) * bit / 10
			shake(&t.e, fr, late, r)
			s.Add(fr, t.e.Line.At, t.e.Line.To)
			wait := capture.Tick((18 + 4*r.Float64()) * 1e6)
			if side == 0 {
				wait = capture.Tick((300 + 9*r.Float64()) * 1e6)
			}
			s.Waits.Add(wait)
			b := capture.Block{Transitions: t.e.Line}
			if volts {
				b.Samples = voltsOf(&t.e, fr, r)
				s.Samples(fr, b.SampleAt, b.Volts)
			}
			f.Envelope.Add(&b)
			for i := range fr.Chars {
				s.Phases.Add(r.Float64(), fr.Chars[i].Fault != 0)
			}
			at = fr.End + 20e6
		}
	}
	return f
}

// shake moves edges to mark, and all but start edges by chance.
func shake(e *tally.Excerpt, fr *link.Frame, late capture.Tick, r *rand.Rand) {
	starts := map[capture.Tick]bool{}
	for i := range fr.Chars {
		starts[fr.Chars[i].At] = true
	}
	for i, at := range e.Line.At {
		if starts[at] {
			continue
		}
		e.Line.At[i] += capture.Tick(r.NormFloat64() * 0.015 * float64(bit))
		if e.Line.To[i] == capture.High {
			e.Line.At[i] += late
		}
	}
	sort.Slice(e.Line.At, func(i, j int) bool { return e.Line.At[i] < e.Line.At[j] })
}

// voltsOf are samples of a frame: 11 V at mark, 0 at space, with slopes.
func voltsOf(e *tally.Excerpt, fr *link.Frame, r *rand.Rand) (s capture.Samples) {
	v, next, level := 11., 0, capture.High
	for at := fr.At - bit; at < fr.End; at += bit / 16 {
		for next < len(e.Line.At) && e.Line.At[next] <= at {
			level = e.Line.To[next]
			next++
		}
		to := 0.
		if level == capture.High {
			to = 11
		}
		v += (to - v) / 2
		s.SampleAt, s.Volts = append(s.SampleAt, at), append(s.Volts, v+0.1*r.NormFloat64())
	}
	return s
}

func svgOfChart(t *testing.T, c Chart) string {
	t.Helper()
	var b bytes.Buffer
	if err := WriteSVG(&b, c.Plot); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestChartsAreAsBefore(t *testing.T) {
	for _, c := range Charts(sampleTraffic(false)) {
		golden(t, "chart-"+c.Name+".svg", svgOfChart(t, c))
	}
	for _, c := range Charts(sampleTraffic(true)) {
		if c.Name == "eye-indoor" || c.Name == "errors" {
			golden(t, "chart-"+c.Name+"-volts.svg", svgOfChart(t, c))
		}
	}
}

// Every chart has titles of its axes with units, and says in plain words what is seen.
func TestChartsSayWhatTheyShow(t *testing.T) {
	all := map[string][]string{
		"eye-outdoor": {"Eye: outdoor unit", "time in unit intervals of 416.7 µs", "edges in 1/48 unit interval, logarithmic", "mark", "space", "edges to mark", "0.5"},
		"eye-indoor":  {"Eye: indoor unit"},
		"pulses":      {"length in unit intervals of 416.7 µs", "pulses in 1/32 unit interval", "indoor unit, marks", "outdoor unit, spaces"},
		"turnaround":  {"ms, logarithmic", "frames, logarithmic", "outdoor unit, polls", "indoor unit, replies", "20", "200"},
		"phase":       {"phase of the mains, degrees", "characters in 10 degrees", "bad characters"},
		"errors":      {"time on the recording's axis, s", "frames and transitions, in a column", "indoor unit, frames", "the line, transitions"},
	}
	captions := map[string]string{"eye-indoor": "180 characters", "pulses": "marks and spaces inside frames", "turnaround": "120 waits",
		"errors": "120 frames, 9 of them bad", "phase": "9 bad and 351 good"}
	charts := Charts(sampleTraffic(false))
	if len(charts) != len(all) {
		t.Fatalf("%d charts", len(charts))
	}
	for _, c := range charts {
		wants(t, words(t, svgOfChart(t, c)), all[c.Name]...)
		if !strings.Contains(c.Caption, captions[c.Name]) || !strings.HasSuffix(c.Caption, ".") {
			t.Errorf("%s: %s", c.Name, c.Caption)
		}
	}
	for _, c := range Charts(sampleTraffic(true)) {
		switch c.Name {
		case "eye-indoor":
			wants(t, words(t, svgOfChart(t, c)), "0 V", "10 V")
		case "errors":
			wants(t, words(t, svgOfChart(t, c)), "frames in a column; V", "5 V")
		}
	}
}

// What was not measured has no chart, and what is hardly there, or far too much, still draws.
func TestStrangeTrafficDraws(t *testing.T) {
	if n := len(Charts(sampleFinding())); n != 0 {
		t.Errorf("%d charts of nothing", n)
	}
	f := sampleFinding()
	f.Sums = []*tally.Sums{tally.NewSums(capture.Indoor, float64(bit), 0, capture.Nanoseconds)}
	if n := len(Charts(f)); n != 0 {
		t.Errorf("%d charts of a silent line", n)
	}
	s := f.Sums[0]
	tk := talk{level: capture.High, mark: capture.High, space: capture.Low}
	fr := tk.frame(5e6, capture.Indoor, -1, 0x55)
	s.Add(fr, tk.e.Line.At, tk.e.Line.To)
	s.Samples(fr, []capture.Tick{6e6}, []float64{5})
	s.Waits.Add(0)
	s.Waits.Add(math.MaxInt64 / 4)
	for range 50 {
		s.Whole.Merge(&s.Whole) // 2^50 of each
	}
	f.Recording.From, f.Recording.To = 7, 7
	charts := Charts(f)
	if len(charts) != 4 {
		t.Errorf("%d charts of one frame", len(charts))
	}
	for _, c := range charts {
		words(t, svgOfChart(t, c))
		var b bytes.Buffer
		if err := WritePNG(&b, c.Plot); err != nil {
			t.Fatal(err)
		}
		if _, err := png.Decode(&b); err != nil {
			t.Error(err)
		}
	}
}

func TestReportHasTheCharts(t *testing.T) {
	f := sampleTraffic(false)
	f.Excerpts[0].Like = 2
	text, ids := sound(t, pageOf(t, f))
	if !slices.Contains(ids, "traffic") {
		t.Errorf("sections %v", ids)
	}
	for _, want := range []string{"Eye: indoor unit.", "How long marks and spaces are.", "9 of them bad", "Compare it with figure 2,"} {
		if !strings.Contains(text, want) {
			t.Errorf("the page doesn't say %q", want)
		}
	}
	dir := t.TempDir()
	if err := WriteReport(dir, f, Options{}); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"eye-indoor", "eye-outdoor", "pulses", "turnaround", "errors", "phase"} {
		for _, ending := range []string{".svg", ".png"} {
			if info, err := os.Stat(filepath.Join(dir, name+ending)); err != nil || info.Size() < 1000 {
				t.Errorf("%s%s: %v", name, ending, err)
			}
		}
	}
}
