package plots

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"linewitness/capture"
	"linewitness/decode/tally"
	"linewitness/decode/uart"
	"linewitness/decode/validate"
	"linewitness/decode/verdict"
)

// sampleVolts is the dialogue of three levels as volts of an invented loop of 24 V, with a ripple and one spike.
func sampleVolts() tally.Excerpt {
	e := sampleThreeLevels()
	e.What = "a good poll and its reply, in volts"
	e.Line.At, e.Line.To = e.Line.At[:len(e.Line.At)-2], e.Line.To[:len(e.Line.To)-2] // without the unknown stretch
	volts := map[capture.Level]float64{capture.Low: 0.2, capture.Mid: 11, capture.High: 24}
	level, next := e.First, 0
	for at := e.From; at < e.To; at += 50_000 {
		for next < len(e.Line.At) && e.Line.At[next] <= at {
			level = e.Line.To[next]
			next++
		}
		v := volts[level] + 0.3*math.Sin(float64(at)/3e6)
		c := tally.Column{At: at, Low: v - 0.05, High: v + 0.05}
		if at == e.From+150_000 {
			c.High = 31
		}
		e.Volts = append(e.Volts, c)
	}
	return e
}

// sampleDip is an event without characters: the levels as they usually stand, one of them beyond what is drawn.
func sampleDip() tally.Excerpt {
	e := tally.Excerpt{What: "the levels fall to 40 % of their usual height", From: 0, To: 4e8, Usual: [4]float64{math.NaN(), 0.1, 12, 24},
		Notes: []tally.Note{{At: 1e8, Label: "dip"}}}
	for at := e.From; at < e.To; at += 1e6 {
		v := 12.0
		if at > 1e8 {
			v = 12 - 7.2*math.Exp(-float64(at-1e8)/1e8)
		}
		e.Volts = append(e.Volts, tally.Column{At: at, Low: v, High: v})
	}
	return e
}

func TestVoltFigures(t *testing.T) {
	for _, c := range []struct {
		name string
		e    tally.Excerpt
		want []string
	}{
		{"volts", sampleVolts(), []string{"low: space, 0.", "mid: mark, 1", "high: space, 23.9", "outdoor polls"}},
		{"dip", sampleDip(), []string{"mid: mark, 12 V", "dip", "the levels fall to 40 %"}},
	} {
		got := svgOf(t, c.e, sampleLine)
		golden(t, c.name+".svg", got)
		wants(t, words(t, got), c.want...)
	}
	if all := strings.Join(words(t, svgOf(t, sampleDip(), sampleLine)), "\n"); strings.Contains(all, "high") {
		t.Error("a level is named that lies beyond what is drawn")
	}
}

// No volts, however strange, break a figure.
func TestStrangeVoltsDraw(t *testing.T) {
	for _, v := range [][2]float64{{0, 0}, {5, 5}, {-1e300, 1e300}, {1e-300, 2e-300}, {math.Inf(-1), 1}, {math.NaN(), math.NaN()}} {
		e := sampleVolts()
		for i := range e.Volts {
			e.Volts[i].Low, e.Volts[i].High = v[0], v[1]
		}
		words(t, svgOf(t, e, uart.Line{}))
	}
}

func TestPageShowsLevels(t *testing.T) {
	nan := math.NaN()
	f := sampleFinding()
	f.Volts = &verdict.Volts{Loop: true, Levels: 3, Low: 0.1, Mid: 11.9, High: 24, Noise: 0.08, SamplesABit: 16.7, DipTo: 0.41, Judged: 0.97,
		Dips: validate.Times{N: 2}, Hz: 49.98, Hum: [4]float64{nan, 0, 0.2, 0.4}, Feed: capture.Outdoor, FeedAssumed: true, Clipped: 7,
		Spikes: validate.Times{N: 1}, Plus: 2, Rectifier: validate.FullWave,
		Edges: []validate.EdgeShape{{From: capture.Mid, To: capture.High, N: 800, Tau50: 250e-6, Curved: true}, {From: capture.Low, To: capture.High, N: 2}}}
	var b bytes.Buffer
	if err := WritePage(&b, f, Options{}); err != nil {
		t.Fatal(err)
	}
	page := b.String()
	for _, want := range []string{`id="levels"`, "24 V", "11.9 V", "outdoor unit (assumed", "49.98 Hz", "2, down to 41 %", "1 episode, 2 spikes up",
		"curved, time constant 250 µs", "full-wave recharge", "Samples at full scale"} {
		if !strings.Contains(page, want) {
			t.Errorf("no %q on the page", want)
		}
	}
	if strings.Contains(page, "Edges from low to high") {
		t.Error("two edges have a row")
	}
}
