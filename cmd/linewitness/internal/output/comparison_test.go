package output

import (
	"bytes"
	"encoding/json"
	"math"
	"strings"
	"testing"
	"unicode/utf8"

	"linewitness/capture"
	"linewitness/decode/compare"
)

func comparisons() map[string]*Comparison {
	all := findings()
	sound, silent := all["sound"], all["silent-outdoor"]
	changes := compare.ChangesOf([]compare.Question{
		{ID: "damaged", Side: capture.Outdoor, Unit: "%", Before: compare.Datum{N: 400}, After: compare.Datum{N: 380, K: 90, Runs: 60}},
		{ID: "turn-around", Side: capture.Outdoor, Unit: "ms", Kind: compare.Sample, Before: compare.Datum{Values: []float64{20, 21, 22, 20.5, 21.5, 20.2}},
			After: compare.Datum{Values: []float64{20.1, 21.1, 22.1, 20.6, 21.6, 20.3}}},
		{ID: "speed-error", Side: capture.Indoor, Unit: "ppm", Kind: compare.Estimate, Before: compare.Datum{Value: 120, Err: 50, N: 900}, After: compare.Datum{Value: 90, Err: 51, N: 880}},
		{ID: "level-mid", Unit: "V", Kind: compare.Estimate, Before: compare.Datum{Unmeasured: "no volts were recorded"}, After: compare.Datum{Value: math.NaN()}},
		{ID: "dips", Unit: "/h", Kind: compare.Rate, Before: compare.Datum{Seconds: 600}, After: compare.Datum{Seconds: 600, K: 1}},
	})
	at := []compare.Moment{{First: 1_500_000_000, Second: 500_000_000}, {First: 2_250_000_000, Second: 1_250_000_000}}
	ends := compare.Ends{First: capture.Indoor, Second: capture.Outdoor}
	losses := &compare.Losses{Seconds: 58.5, First: 1, Second: 0, Senders: []compare.Sender{
		{Side: capture.Indoor, Whole: 180, FirstOnly: compare.Events{N: 9, Missing: 4, Episodes: 6, At: at}},
		{Side: capture.Outdoor, Whole: 120, Alike: compare.Events{N: 40, Clean: 40, Episodes: 31, At: at}},
	}, Polls: compare.Polls{By: capture.Indoor, Heard: 180, Lost: 9, Unanswered: compare.Events{N: 20, Episodes: 12, At: at[:1]}}}
	aligned := &compare.Alignment{Aligned: true, Matched: 300, FirstOf: 309, SecOf: 300, Chance: 1e-12, From: 1, To: 59.5,
		Line: compare.Line{At: 30, Offset: -1.0000004, OffsetErr: 2e-7, Drift: 40.5e-6, DriftErr: 1e-8, Scatter: 3.25e-6, N: 300}}
	conclusion := compare.Conclude(losses, ends)
	nan := math.NaN()
	none := &compare.Alignment{Why: "a recording has fewer than 8 whole frames", Chance: nan,
		Line: compare.Line{At: nan, Offset: nan, OffsetErr: nan, Drift: nan, DriftErr: nan, Scatter: nan}}
	names := [2]string{"one.vcd", "two.vcd"}
	return map[string]*Comparison{
		"two-taps": {Names: names, First: sound, Second: silent, TwoTaps: true, Ends: ends, Alignment: aligned, Losses: losses, Conclusion: &conclusion,
			Changes: &changes, LinkFrom: "one.vcd"},
		"before-after": {Names: names, First: sound, Second: silent, Why: none.Why, Alignment: none, Changes: &changes, Profile: true},
		"not-aligned":  {Names: names, First: sound, Second: silent, TwoTaps: true, Given: true, Ends: ends, Alignment: none, Changes: &changes},
	}
}

func TestComparisons(t *testing.T) {
	for name, c := range comparisons() {
		t.Run(name, func(t *testing.T) {
			var text bytes.Buffer
			if err := WriteComparison(&text, c); err != nil {
				t.Fatal(err)
			}
			for line := range strings.Lines(text.String()) {
				if n := utf8.RuneCountInString(strings.TrimSuffix(line, "\n")); n > columns || strings.ContainsRune(line, tied) {
					t.Errorf("%d columns: %q", n, line)
				}
			}
			golden(t, "compared-"+name+".txt", text.Bytes())
			line, err := AppendComparison(nil, c)
			if err != nil || bytes.Count(line, []byte("\n")) != 1 {
				t.Fatalf("%v, not one line: %q", err, line)
			}
			var b bytes.Buffer
			if err := json.Indent(&b, line, "", "  "); err != nil {
				t.Fatal(err)
			}
			golden(t, "compared-"+name+".json", b.Bytes())
		})
	}
}

// What every conclusion says, in words that fit it.
func TestBetweenSays(t *testing.T) {
	c := comparisons()["two-taps"]
	for between, want := range map[compare.Between]string{
		compare.Shown: "Between the taps: at fault; ", compare.NotSeen: "Between the taps: nothing is lost. ", compare.Few: "too few to build on", compare.Mixed: "damaged at both ends in",
		compare.OneEnd: "shows at the outdoor end", compare.NotMeasured: "nothing can be said",
	} {
		x := *c.Conclusion
		x.Between = between
		c.Conclusion = &x
		if got := c.betweenSays(); !strings.Contains(got, want) {
			t.Errorf("%v: %s, want %q in it", between, got, want)
		}
	}
}
