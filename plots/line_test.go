package plots

import (
	"bytes"
	"encoding/xml"
	"errors"
	"flag"
	"image/png"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"linewitness/capture"
	"linewitness/decode/link"
	"linewitness/decode/tally"
	"linewitness/decode/uart"
)

var update = flag.Bool("update", false, "write the expected figures anew")

func svgOf(t testing.TB, e tally.Excerpt, line uart.Line) string {
	t.Helper()
	var b bytes.Buffer
	if err := WriteSVG(&b, Line(e, capture.Nanoseconds, line)); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// words are the texts of an SVG document, which must be well formed.
func words(t *testing.T, doc string) []string {
	t.Helper()
	var all []string
	d := xml.NewDecoder(strings.NewReader(doc))
	inText := false
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return all
		}
		if err != nil {
			t.Fatalf("the figure is no XML: %v", err)
		}
		switch v := token.(type) {
		case xml.StartElement:
			inText = v.Name.Local == "text"
			if v.Name.Local == "script" {
				t.Fatal("a script in a figure")
			}
			for _, a := range v.Attr {
				if strings.Contains(a.Value, "NaN") || strings.Contains(a.Value, "Inf") {
					t.Fatalf("%s %s=%q", v.Name.Local, a.Name.Local, a.Value)
				}
			}
		case xml.EndElement:
			inText = false
		case xml.CharData:
			if inText {
				all = append(all, string(v))
			}
		}
	}
}

func wants(t *testing.T, got []string, want ...string) {
	t.Helper()
	all := strings.Join(got, "\n")
	for _, w := range want {
		if !strings.Contains(all, w) {
			t.Errorf("no %q among the words:\n%s", w, all)
		}
	}
}

// golden compares a figure with the one that was looked at.
func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("%s differs; look at it, then go test ./plots -update", path)
	}
}

func TestFiguresAreAsBefore(t *testing.T) {
	for _, c := range []struct {
		name string
		e    tally.Excerpt
		line uart.Line
	}{
		{"two-levels", sampleTwoLevels(), sampleLine},
		{"three-levels", sampleThreeLevels(), sampleLine},
		{"crowd", sampleCrowd(20_000), sampleLine},
		{"empty", tally.Excerpt{}, uart.Line{}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := svgOf(t, c.e, c.line)
			if got != svgOf(t, c.e, c.line) {
				t.Fatal("two drawings differ")
			}
			words(t, got)
			golden(t, c.name+".svg", got)
		})
	}
}

func TestFigureSaysWhatItShows(t *testing.T) {
	wants(t, words(t, svgOf(t, sampleTwoLevels(), sampleLine)), "a parity error in the reply", "after 12.345678 s", "time in ms",
		"low: space", "high: mark", "AA", "83", "checksum+parity", "turn-around 18 ms", "parity wrong", "short mark 38 µs",
		"short space 21.5 µs", "a dashed box with a cross")
	wants(t, words(t, svgOf(t, sampleThreeLevels(), sampleLine)), "low: space", "mid: mark", "high: space", "outdoor polls", "indoor replies", "not known")
	inverted := sampleLine
	inverted.Inverted = true
	wants(t, words(t, svgOf(t, sampleTwoLevels(), inverted)), "low: mark", "high: space")
	unread := strings.Join(words(t, svgOf(t, sampleTwoLevels(), uart.Line{})), "\n")
	if strings.Contains(unread, ": mark") || strings.Contains(unread, ": space") {
		t.Error("a line of unknown polarity has marks and spaces")
	}
}

func TestEmptyAndSmallExcerpts(t *testing.T) {
	for name, e := range map[string]tally.Excerpt{
		"nothing":        {},
		"one instant":    {From: 5, To: 5, First: capture.High},
		"backwards":      {From: 10, To: 2, First: capture.Low},
		"one transition": {From: 0, To: 1000, First: capture.Low, Line: capture.Transitions{At: []capture.Tick{500}, To: []capture.Level{capture.High}}},
		"at both edges":  {From: 0, To: 9, First: capture.Low, Line: capture.Transitions{At: []capture.Tick{0, 9}, To: []capture.Level{capture.High, capture.Low}}},
		"unequal slices": {From: 0, To: 9, Line: capture.Transitions{At: []capture.Tick{1, 2, 3}, To: []capture.Level{capture.High}}},
		"huge":           {From: math.MinInt64 / 4, To: math.MaxInt64 / 4, First: capture.Mid},
		"never known":    {From: 0, To: 9},
	} {
		t.Run(name, func(t *testing.T) {
			for _, clock := range []capture.Clock{{}, capture.Nanoseconds, {Num: 1, Den: 100}} {
				p := Line(e, clock, uart.Line{})
				var b bytes.Buffer
				if err := WriteSVG(&b, p); err != nil {
					t.Fatal(err)
				}
				wants(t, words(t, b.String()), "none read", "none")
			}
			var b bytes.Buffer
			if err := WritePNG(&b, Line(e, capture.Nanoseconds, uart.Line{})); err != nil {
				t.Fatal(err)
			}
			if _, err := png.Decode(&b); err != nil {
				t.Fatal(err)
			}
		})
	}
}

func TestHostileWordsInFigures(t *testing.T) {
	e := sampleTwoLevels()
	e.What = "</text><script>alert(1)</script>\x00\x1b[31m\xff" + strings.Repeat("long ", 100)
	e.Notes = []tally.Note{{At: e.From + 1e6, Label: "\"><script>\n\x07&"}}
	doc := svgOf(t, e, sampleLine)
	if strings.Contains(doc, "<script") {
		t.Error("a script came through")
	}
	wants(t, words(t, doc), `"><script> &`, "…")
}

func TestThinKeepsFirstExtremesAndLast(t *testing.T) {
	e := tally.Excerpt{From: 0, To: 100, First: capture.Mid, Line: capture.Transitions{
		At: []capture.Tick{11, 12, 13, 55, 80}, To: []capture.Level{capture.High, capture.Low, capture.Mid, capture.Unknown, capture.High}}}
	cols, unknown := thin(&e, 10)
	want := []column{
		{at: 1, x: 1.5, entry: capture.Mid, low: capture.Low, high: capture.High, out: capture.Mid},
		{at: 5, x: 5.5, entry: capture.Mid, low: capture.Mid, high: capture.Mid, out: capture.Unknown},
		{at: 8, x: 8, entry: capture.Unknown, low: capture.High, high: capture.High, out: capture.High},
	}
	if len(cols) != len(want) {
		t.Fatalf("columns %+v", cols)
	}
	for i := range want {
		if cols[i] != want[i] {
			t.Errorf("column %d: %+v, want %+v", i, cols[i], want[i])
		}
	}
	if len(unknown) != 1 || unknown[0] != (span{5, 8}) {
		t.Errorf("unknown %+v", unknown)
	}
}

func TestMillionTransitionsAreQuick(t *testing.T) {
	if testing.Short() {
		t.Skip("long")
	}
	e := sampleCrowd(1_000_000)
	start := time.Now()
	svg := svgOf(t, e, sampleLine)
	var b bytes.Buffer
	if err := WritePNG(&b, Line(e, capture.Nanoseconds, sampleLine)); err != nil {
		t.Fatal(err)
	}
	if d := time.Since(start); d > 5*time.Second { // some 0.3 s on an idle machine
		t.Errorf("both took %v", d)
	}
	if len(svg) > 1<<20 {
		t.Errorf("the figure has %d bytes", len(svg))
	}
}

func TestStepsAreRound(t *testing.T) {
	for _, high := range []float64{1e-6, 0.003, 0.7, 1, 9.99, 42, 138, 999, 20e3, 1e12} {
		ticks := steps(0, high)
		if len(ticks) < 4 || len(ticks) > 12 {
			t.Errorf("%g: %d ticks", high, len(ticks))
		}
		seen := map[string]bool{}
		for _, k := range ticks {
			if seen[k.Label] {
				t.Errorf("%g: label %s twice", high, k.Label)
			}
			seen[k.Label] = true
		}
	}
}

func TestCutFrameIsNoFault(t *testing.T) {
	e := sampleThreeLevels()
	e.Frames[0].Why = link.WhyCut
	got := strings.Join(words(t, svgOf(t, e, sampleLine)), "\n")
	if strings.Contains(got, "broken") || !strings.Contains(got, "cut") {
		t.Errorf("words:\n%s", got)
	}
}

func BenchmarkSVG(b *testing.B) {
	e := sampleCrowd(1_000_000)
	b.ReportAllocs()
	for b.Loop() {
		if err := WriteSVG(io.Discard, Line(e, capture.Nanoseconds, sampleLine)); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkPNG(b *testing.B) {
	e := sampleCrowd(1_000_000)
	b.ReportAllocs()
	for b.Loop() {
		if err := WritePNG(io.Discard, Line(e, capture.Nanoseconds, sampleLine)); err != nil {
			b.Fatal(err)
		}
	}
}
