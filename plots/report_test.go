package plots

import (
	"bytes"
	"encoding/xml"
	"errors"
	"image/png"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"linewitness/capture"
	"linewitness/decode"
	"linewitness/decode/cause"
	"linewitness/decode/verdict"
)

func pageOf(t testing.TB, f *decode.Finding) string {
	t.Helper()
	var b bytes.Buffer
	if err := WritePage(&b, f, Options{}); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// sound reads a page tag by tag and tells what is in it: every tag must be closed, and none of them may be a script,
// load anything, or listen to an event.
func sound(t *testing.T, page string) (text string, ids []string) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(page))
	d.Strict, d.Entity = false, xml.HTMLEntity
	d.AutoClose = []string{"meta", "br"}
	var open []string
	var b strings.Builder
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		switch v := token.(type) {
		case xml.StartElement:
			open = append(open, v.Name.Local)
			if slices.Contains([]string{"script", "iframe", "object", "embed", "img", "link", "base", "form"}, v.Name.Local) {
				t.Errorf("a %s in the page", v.Name.Local)
			}
			for _, a := range v.Attr {
				if strings.HasPrefix(a.Name.Local, "on") || a.Name.Local == "src" || a.Name.Local == "href" && !strings.HasPrefix(a.Value, "#") {
					t.Errorf("%s has %s=%q", v.Name.Local, a.Name.Local, a.Value)
				}
				if a.Name.Local == "id" {
					ids = append(ids, a.Value)
				}
			}
		case xml.EndElement:
			if len(open) == 0 || open[len(open)-1] != v.Name.Local {
				t.Fatalf("%s closed within %v", v.Name.Local, open)
			}
			open = open[:len(open)-1]
		case xml.CharData:
			if len(open) > 0 && open[len(open)-1] != "style" {
				b.Write(v)
			}
		}
	}
	if len(open) > 0 {
		t.Errorf("left open: %v", open)
	}
	return b.String(), ids
}

var sections = []string{"answer", "cleared", "checks", "evidence", "candidates", "senders", "figures", "recording", "link", "caution"}

func TestPageTellsFromTheTop(t *testing.T) {
	page := pageOf(t, sampleFinding())
	text, ids := sound(t, page)
	if !slices.Equal(ids, sections) {
		t.Errorf("sections %v", ids)
	}
	for _, w := range []string{
		"A joint with resistance in conductor S", "Probability 87 %", "accounts for 91 %", "wiring: poor-joint/line, conductor S, place outdoor terminal",
		"Outdoor board", "measure the resistance of conductor S", "Wait some minutes for the capacitors", "about 6 min", "tells apart poor-joint/line, mains-hum/line", "Live measurement. Live work",
		"-8.61 %", "-9.4 to -7.9 %", "12.345678, 44.100000", "and 2 more kept", "not measured", "poor-joint/line +6.2",
		"87 %", "7 %", "under 1 %", "310 ± 25 ppm", "18.2 / 22.1 ms", "inferred from the recording", "2,400", "loop3", "8E1", "unknown",
		"Figure 1: a parity error in the reply", "From 12.345678 s to", "1 of them out of order", "2 pulses too short", "Shown for comparison",
		"Local codes", "licensed", "At the outdoor terminals L is live", "invented",
	} {
		if w == "2,400" {
			w = "2400 Bd"
		}
		if !strings.Contains(text, w) {
			t.Errorf("the page doesn't say %q", w)
		}
	}
	if n := strings.Count(page, "<svg "); n != 3 {
		t.Errorf("%d figures", n)
	}
	if strings.Contains(page, "NaN") || strings.Contains(page, "ZgotmplZ") {
		t.Error("NaN or a filtered value in the page")
	}
}

func TestEmptyFindingIsAPage(t *testing.T) {
	nan := math.NaN()
	f := &decode.Finding{Verdict: verdict.Verdict{Key: verdict.Key{Cause: cause.Unknown}, Undetermined: true, Probability: nan, Explains: nan}}
	f.Senders = []decode.Sender{{Side: capture.Indoor, SpeedErrorPPM: nan, SpeedPM: nan, BiasPct: nan, IsochronousPct: nan, TurnP50: nan, TurnP99: nan}}
	text, ids := sound(t, pageOf(t, f))
	if !slices.Equal(ids, sections) {
		t.Errorf("sections %v", ids)
	}
	if n := strings.Count(text, notMeasured); n < 5 {
		t.Errorf("%d times not measured:\n%s", n, text)
	}
	if regexp.MustCompile(`\b0 (ppm|ms|%)`).MatchString(text) {
		t.Error("a 0 that was never measured")
	}
}

const hostile = `"><script>alert(1)</script><img src=x onerror=alert(1)>'{{.}}`

func TestHostileWordsStayWords(t *testing.T) {
	f := sampleFinding()
	f.Recording.Name = hostile
	f.Verdict.Summary, f.Verdict.Conductor, f.Verdict.Variant, f.Verdict.Place = hostile, hostile, hostile, hostile
	f.Cleared = []verdict.Cleared{{What: hostile, Because: hostile}}
	f.Evidence[0].ID, f.Evidence[0].Says, f.Evidence[0].Unit = hostile, hostile, hostile
	f.NextChecks[0].Do, f.NextChecks[0].Caution = hostile, hostile
	f.Caution = hostile
	f.Link.Name, f.Link.Learned, f.Link.Equivalent = hostile, false, []string{hostile}
	f.Excerpts[0].What, f.Excerpts[0].Notes[0].Label = hostile, hostile
	page := pageOf(t, f)
	text, _ := sound(t, page)
	if strings.Contains(page, "<script") || strings.Contains(page, "<img") {
		t.Error("foreign text became a tag")
	}
	if n := strings.Count(text, hostile); n < 14 {
		t.Errorf("only %d of the words arrived", n)
	}
}

func TestReportFolder(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "a", "b")
	for range 2 { // a second time over the first
		if err := WriteReport(dir, sampleFinding(), Options{Made: time.Date(2026, 3, 4, 10, 0, 0, 0, time.UTC)}); err != nil {
			t.Fatal(err)
		}
	}
	if got := names(t, dir); !slices.Equal(got, []string{"line.png", "line.svg", "report.html"}) {
		t.Fatalf("left: %v", got)
	}
	page, err := os.ReadFile(filepath.Join(dir, "report.html"))
	if err != nil {
		t.Fatal(err)
	}
	if text, _ := sound(t, string(page)); !strings.Contains(text, "Made 4 March 2026, 10:00 UTC") {
		t.Error("no date of making")
	}
	svg, err := os.ReadFile(filepath.Join(dir, "line.svg"))
	if err != nil {
		t.Fatal(err)
	}
	wants(t, words(t, string(svg)), "a parity error in the reply")
	picture, err := os.Open(filepath.Join(dir, "line.png"))
	if err != nil {
		t.Fatal(err)
	}
	defer picture.Close()
	m, err := png.Decode(picture)
	if err != nil {
		t.Fatal(err)
	}
	if b := m.Bounds(); b.Dx() != 1920 || b.Dy() != 704 {
		t.Errorf("the picture is %v", b)
	}
}

func TestReportLeavesNothingPartial(t *testing.T) {
	dir := t.TempDir()
	if err := os.MkdirAll(filepath.Join(dir, "report.html", "in the way"), 0o777); err != nil {
		t.Fatal(err)
	}
	if err := WriteReport(dir, sampleFinding(), Options{}); err == nil {
		t.Fatal("no error")
	}
	if got := names(t, dir); !slices.Equal(got, []string{"report.html"}) {
		t.Errorf("left: %v", got)
	}
	plain := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(plain, nil, 0o644); err != nil {
		t.Fatal(err)
	}
	if err := WriteReport(plain, sampleFinding(), Options{}); err == nil {
		t.Error("a file as the folder: no error")
	}
}

func TestReportWithoutExcerpts(t *testing.T) {
	dir := t.TempDir()
	f := sampleFinding()
	f.Excerpts, f.Link = nil, nil
	if err := WriteReport(dir, f, Options{}); err != nil {
		t.Fatal(err)
	}
	svg, err := os.ReadFile(filepath.Join(dir, "line.svg"))
	if err != nil {
		t.Fatal(err)
	}
	wants(t, words(t, string(svg)), "nothing was kept of the line")
}

func TestNumbers(t *testing.T) {
	for v, want := range map[float64]string{0: "0", 1: "1", -8.61: "-8.61", 1234.56: "1235", 0.00123: "0.00123", 2400: "2400", 38.04: "38.04",
		1e-9: "1e-09", 3e12: "3e+12", math.Inf(1): notMeasured, math.NaN(): notMeasured, 99.996: "100", 100: "100"} {
		if got := number(v); got != want {
			t.Errorf("%g: %q, want %q", v, got, want)
		}
	}
	for p, want := range map[float64]string{1: "over 99 %", 0: "under 1 %", 0.994: "99 %", 0.6: "60 %", math.NaN(): notMeasured} {
		if got := share(p); got != want {
			t.Errorf("%g: %q, want %q", p, got, want)
		}
	}
}

func names(t *testing.T, dir string) []string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var all []string
	for _, e := range entries {
		all = append(all, e.Name())
	}
	return all
}
