package check

import (
	"math"
	"strings"
	"testing"

	"linewitness/decode/cause"
	"linewitness/decode/circuit"
)

func TestParseReading(t *testing.T) {
	for _, c := range []struct {
		text, check string
		value       Value
	}{
		{"fault-shown=yes", "fault-shown", Value{Word: "yes"}},
		{"demand=unknown", "demand", Value{Word: "unknown"}},
		{"history=after-storm", "history", Value{Word: "after-storm"}},
		{"joints=wet", "joints", Value{Word: "wet"}},
		{"S-N@indoor=dc:steady:23.8V", "S-N@indoor", Value{Kind: DC, Low: 23.8, High: 23.8}},
		{"S-N@indoor=dc:steady:-23.8 V", "S-N@indoor", Value{Kind: DC, Low: -23.8, High: -23.8}},
		{"S-N@outdoor=dc:swings:0..24V;meter=lowz", "S-N@outdoor", Value{Kind: DC, High: 24, Swings: true, Meter: circuit.LowZ}},
		{"S-N@outdoor=dc:swings:24V..3V;meter=10M", "S-N@outdoor", Value{Kind: DC, Low: 3, High: 24, Swings: true}},
		{"S-N@outdoor,lifted=S,lifted-at=outdoor=dc:steady:24V", "S-N@outdoor,lifted=S,lifted-at=outdoor", Value{Kind: DC, Low: 24, High: 24}},
		{"S-N@outdoor,lifted=S=dc:steady:24V", "S-N@outdoor,lifted=S,lifted-at=outdoor", Value{Kind: DC, Low: 24, High: 24}},
		{"S-PE@indoor,lifted=S,lifted-at=outdoor=ac:40V", "S-PE@indoor,lifted=S,lifted-at=outdoor", Value{Kind: AC, Low: 40, High: 40}},
		{"L-N@outdoor=ac:230V", "L-N@outdoor", Value{Kind: AC, Low: 230, High: 230}},
		{"S-S@line=ohm:1.2", "S-S@line", Value{Kind: Resistance, Low: 1.2, High: 1.2}},
		{"S-N@line=ohm:2.2k", "S-N@line", Value{Kind: Resistance, Low: 2200, High: 2200}},
		{"S-N@line=ohm:over", "S-N@line", Value{Kind: Resistance, Low: math.Inf(1), High: math.Inf(1)}},
	} {
		r, err := ParseReading(c.text)
		if err != nil || r.Check != c.check || r.Value != c.value {
			t.Errorf("%s: %s %+v, %v", c.text, r.Check, r.Value, err)
		}
	}
}

func TestBadReadings(t *testing.T) {
	for text, says := range map[string]string{
		"":                               "expected CHECK=VALUE",
		"fault-shown":                    "expected CHECK=VALUE",
		"lamp=yes":                       "unknown check",
		"fault-shown=maybe":              `expected yes, no, unknown, found "maybe"`,
		"history=unknown":                "expected routine",
		"other-end=yes":                  "give that as FILE",
		"S-N@indoor=23.8V":               "expected dc:steady:23.8V",
		"S-N@indoor=dc:23.8V":            "expected dc:steady",
		"S-N@indoor=dc:steady:23.8":      "unit V",
		"S-N@indoor=dc:steady:NaNV":      "expected a figure",
		"S-N@indoor=dc:steady:5000V":     "-1000 to 1000",
		"S-N@indoor=dc:swings:5V":        "two volts",
		"S-N@indoor=ac:-3V":              "from 0 to 1000",
		"S-N@indoor=ac:3V;meter=1M":      "meter=lowz",
		"S-N@attic=ac:3V":                `expected a place indoor or outdoor, found "attic"`,
		"X-N@indoor=ac:3V":               "expected a conductor",
		"S-S@indoor=ac:3V":               "two conductors",
		"S-N@line,lifted=S=ac:3V":        "indoor or outdoor",
		"S-N@indoor,lifted=N=ac:3V":      "expected ,lifted=S",
		"S-N@indoor,lifted-at=roof=ac:3": "lifted-at",
		"S-S@line=ohm:-1":                "expected ohms",
		"S-S@line=1.2":                   "expected ohm:1.2",
	} {
		if _, err := ParseReading(text); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%q: %v, want %q", text, err, says)
		}
	}
}

// FuzzParseReading: what is read prints as what reads the same.
func FuzzParseReading(f *testing.F) {
	f.Add("S-N@outdoor,lifted=S,lifted-at=outdoor=dc:swings:0..24V;meter=lowz")
	f.Add("S-S@line=ohm:over")
	f.Add("fault-shown=yes")
	f.Fuzz(func(t *testing.T, s string) {
		r, err := ParseReading(s)
		if err != nil {
			return
		}
		again, err := ParseReading(r.String())
		if err != nil || again.Check != r.Check || again.Value != r.Value {
			t.Fatalf("%q: %+v; again %+v, %v", s, r, again, err)
		}
		if v := r.Value; v.Low > v.High || math.IsNaN(v.Low) {
			t.Fatalf("%q: %+v", s, v)
		}
		NewCase(circuit.Nothing(), []Reading{r}).Belief(cause.OpenConductor, "line")
	})
}

func readings(t *testing.T, texts ...string) (all []Reading) {
	t.Helper()
	for _, text := range texts {
		r, err := ParseReading(text)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, r)
	}
	return all
}

// By hand: a communication fault is shown. The table gives 0.975 if a board is silent and 0.025 if the line is sound (5 % spread over two
// outcomes), half for a misread one: log2(0.975/0.5) = 0.9634741 and log2(0.025/0.5) = -4.3219281 bits.
func TestWordByHand(t *testing.T) {
	c := NewCase(circuit.Nothing(), readings(t, "fault-shown=yes"))
	if got := c.Belief(cause.SilentSender, "outdoor").Bits[0]; !near(got, math.Log2(0.975/0.5)) {
		t.Errorf("silent: %g bits", got)
	}
	sound := c.Belief(cause.None, "none")
	if !near(sound.Bits[0], math.Log2(0.025/0.5)) || !near(sound.Misread[0], 1) {
		t.Errorf("sound: %g bits, misread with %g", sound.Bits[0], sound.Misread[0])
	}
	if got := c.Belief(cause.OtherCause, "line").Bits[0]; got != 0 {
		t.Errorf("of something unknown: %g bits", got)
	}
}

func TestRepeatedQuantityTellsNothing(t *testing.T) {
	once := NewCase(circuit.Nothing(), readings(t, "S-N@indoor=dc:steady:0.1V"))
	twice := NewCase(circuit.Nothing(), readings(t, "S-N@indoor=dc:steady:0.1V", "S-N@indoor=dc:steady:0.1V"))
	gap := func(c *Case, i int) float64 {
		return c.Belief(cause.OpenConductor, "line").Bits[i] - c.Belief(cause.None, "none").Bits[i]
	}
	first, again := gap(once, 0), gap(twice, 1)
	if first < 3 || again != 0 {
		t.Errorf("an open conductor against sound: %.2f bits, repeated %.2f more", first, again)
	}
	// What the recording has shown, a meter at the same place cannot show anew.
	seen := circuit.Nothing()
	seen.At, seen.Mark, seen.Low, seen.Top = circuit.Indoor, 12, 1.5, 24
	anew := readings(t, "S-N@indoor=dc:swings:11..14V")
	c := NewCase(seen, anew)
	if b := c.Belief(cause.PoorJoint, "line").Bits[0] - c.Belief(cause.None, "none").Bits[0]; math.Abs(b) > 1.5 {
		t.Errorf("what the levels showed already moves a joint by %.2f bits", b)
	}
}

// Two figures that cannot both be true: one of them is misread, whatever the cause.
func TestClash(t *testing.T) {
	c := NewCase(circuit.Nothing(), readings(t, "S-N@indoor=dc:steady:24V", "S-N@indoor=dc:steady:60V"))
	for _, k := range []cause.Cause{cause.None, cause.SilentSender, cause.OpenConductor} {
		b := c.Belief(k, "outdoor")
		if sum := b.Misread[0] + b.Misread[1]; sum < 0.9 {
			t.Errorf("%v: misread with %.2f and %.2f", k, b.Misread[0], b.Misread[1])
		}
	}
	fits := NewCase(circuit.Nothing(), readings(t, "S-N@indoor=dc:steady:24V", "S-N@indoor=dc:steady:24.4V"))
	if b := fits.Belief(cause.SilentSender, "outdoor"); b.Misread[0]+b.Misread[1] > 0.3 {
		t.Errorf("two that agree are misread with %.2f", b.Misread)
	}
}
