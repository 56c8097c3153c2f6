package verdict_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"linewitness/capture"
	"linewitness/decode/cause"
	"linewitness/decode/validate"
	"linewitness/decode/verdict"
)

var nan = math.NaN()

// quiet is a sound loop of 24 V, fed by the outdoor unit as far as anyone knows.
func quiet() verdict.Volts {
	return verdict.Volts{Loop: true, Levels: 3, Low: 0.1, Mid: 12, High: 24, Noise: 0.1, SamplesABit: 16, Judged: 0.9, DipTo: nan,
		PlaceMove: 0.001, HighMove: 0.001, PlaceErr: 0.001, MarkNoise: 1, MarkErr: 0.02, Hz: nan, HzErr: nan,
		Hum: [4]float64{nan, nan, nan, nan}, Ripple: [4]float64{nan, nan, nan, nan}, TauBits: 0.02, BeyondMost: nan,
		Seconds: 60, Feed: capture.Outdoor, FeedAssumed: true, Constant: nan, Effective: nan}
}

// onLoop judges a dialogue of a loop by its counts and its volts.
func onLoop(c counts, v verdict.Volts, lost ...capture.Tick) verdict.Judged {
	f := &validate.Facts{TwoTalk: true, Senders: []validate.Sender{{Side: capture.Indoor}, {Side: capture.Outdoor}}}
	a, b := &f.Senders[0], &f.Senders[1]
	a.Good, b.Good, a.Dirty.N, b.Dirty.N = c.goodA, c.goodB, c.dirtyA, c.dirtyB
	a.Frames, b.Frames = c.goodA+c.dirtyA, c.goodB+c.dirtyB
	a.Dirty.At = lost
	for range b.Frames {
		b.Turn.Add(0.01)
	}
	f.Answered, f.Solicited = b.Frames, b.Frames
	return verdict.Judge(verdict.Input{Facts: f, Tap: capture.IndoorTerminal, Changes: 1000, Volts: &v, Second: 1000,
		Signals: []verdict.Signal{{PPM: 30, PM: 20, BiasPct: 1}, {PPM: 30, PM: 20, BiasPct: 1}}})
}

// bitsOf is what an evidence says of a candidate; ok: the evidence stands.
func bitsOf(j verdict.Judged, id string, k verdict.Key) (bits float64, ok bool) {
	for _, e := range j.Evidence {
		if e.ID == id {
			return e.Bits[k], true
		}
	}
	return 0, false
}

// Each sign in the levels moves the cause that makes it, after the circuit (design: how the line works; observables: what
// each cause leaves). For and against are causes at the line, or cause/side.
func TestWhatLevelsSay(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name          string
		change        func(*verdict.Volts)
		id            string
		for_, against []string
	}{
		{"mark between the ends: current flows", func(*verdict.Volts) {}, "levels", nil, []string{"open-conductor", "shorted-conductors", "reversed-conductors"}},
		{"mark merges with low: nothing follows", func(v *verdict.Volts) { v.Mid, v.Low = 0.2, nan }, "levels", nil, nil},
		{"the supply holds", func(*verdict.Volts) {}, "no-dips", nil, []string{"voltage-sag"}},
		{"the supply dips", func(v *verdict.Volts) { v.Dips.N, v.DipTo = 3, 0.6 }, "dips", []string{"voltage-sag", "loop-supply/outdoor", "restarts/indoor"}, nil},
		{"no hum", func(*verdict.Volts) {}, "no-hum", nil, []string{"mains-hum"}},
		{"strong hum", func(v *verdict.Volts) { v.Hz, v.Hum = 49.98, [4]float64{nan, 0, 2.5, 5} }, "hum", []string{"mains-hum", "leakage", "loop-supply/outdoor"}, nil},
		{"noise in mark alone", func(v *verdict.Volts) { v.MarkNoise = 2.2 }, "mark-noise", []string{"poor-joint"}, nil},
		{"mark moves, the supply stands", func(v *verdict.Volts) { v.PlaceMove = -0.08 }, "place-moves", []string{"poor-joint"}, nil},
		{"the supply is drawn down, mark rises against it", func(v *verdict.Volts) { v.PlaceMove, v.HighMove = 0.08, -0.1 }, "place-moves", []string{"leakage"}, nil},
		{"the ratio holds", func(*verdict.Volts) {}, "place-holds", nil, []string{"poor-joint", "leakage"}},
		{"curved edges", func(v *verdict.Volts) { v.TauBits, v.Curved = 0.2, true }, "edges-curved", []string{"excess-capacitance"}, nil},
		{"sharp edges", func(*verdict.Volts) {}, "edges-sharp", nil, []string{"excess-capacitance"}},
		{"spikes of both signs", func(v *verdict.Volts) { v.Spikes.N, v.Plus, v.Minus = 30, 40, 35 }, "spikes", []string{"impulse-noise", "crosstalk"}, []string{"intermittent-contact"}},
		{"spikes of one sign", func(v *verdict.Volts) { v.Spikes.N, v.Minus = 30, 40 }, "spikes", []string{"impulse-noise", "intermittent-contact"}, nil},
		{"beyond the supply", func(v *verdict.Volts) { v.Beyond.N, v.BeyondMost = 50, 300 }, "beyond", []string{"shorted-conductors", "impulse-noise"}, nil},
		{"too few samples", func(v *verdict.Volts) { v.SamplesABit, v.DistortionHidden = 5, true }, "samples-a-bit", []string{"probe-artefact"}, nil},
		{"clipped", func(v *verdict.Volts) { v.Clipped = 1000 }, "clipped", []string{"probe-artefact"}, nil},
		{"AC-coupled", func(v *verdict.Volts) { v.Coupled, v.Dropped = true, "left out" }, "ac-coupled", []string{"probe-artefact"}, nil},
		{"mains alone", func(v *verdict.Volts) { v.OnlyMains, v.Peak = true, 325 }, "only-mains", []string{"reversed-conductors", "shorted-conductors", "open-conductor"}, nil},
		{"pickup alone", func(v *verdict.Volts) { v.OnlyMains, v.Peak = true, 12 }, "only-mains", []string{"open-conductor"}, nil},
	} {
		v := quiet()
		c.change(&v)
		j := onLoop(counts{goodA: 200, goodB: 200}, v)
		if _, ok := bitsOf(j, c.id, verdict.Key{}); !ok {
			t.Errorf("%s: no evidence %s", c.name, c.id)
			continue
		}
		for _, k := range j.Candidates {
			name := strings.TrimSuffix(k.String(), "/line")
			b, _ := bitsOf(j, c.id, k.Key)
			if slices.Contains(c.for_, name) != (b > 0) && (slices.Contains(c.for_, name) || len(c.for_) == 0) {
				t.Errorf("%s: %s has %.1f bits", c.name, name, b)
			}
			if slices.Contains(c.against, name) && b >= 0 {
				t.Errorf("%s: %s has %.1f bits, want fewer than 0", c.name, name, b)
			}
		}
		if v.Dropped != "" {
			if _, ok := bitsOf(j, "levels", verdict.Key{}); ok {
				t.Errorf("%s: levels are judged", c.name)
			}
		}
	}
}

// What was lost inside of dips speaks for the supply, what was lost outside of them against it.
func TestLossesInDips(t *testing.T) {
	t.Parallel()
	v := quiet()
	v.Dips.N, v.DipTo = 4, 0.4
	for i := range 4 {
		at := capture.Tick(5000 + 10000*i)
		v.DipSpans = append(v.DipSpans, verdict.Span{From: at, To: at + 200})
	}
	sag := verdict.Key{Cause: cause.VoltageSag, Side: capture.Line}
	in := onLoop(counts{goodA: 150, goodB: 200, dirtyA: 4}, v, 5100, 15100, 25100, 35100)
	out := onLoop(counts{goodA: 150, goodB: 200, dirtyA: 4}, v, 100, 10100, 20100, 30100)
	a, _ := bitsOf(in, "dips", sag)
	b, _ := bitsOf(out, "dips", sag)
	if a < 10 || b > 4 {
		t.Errorf("%.1f bits for losses in dips, %.1f for losses outside", a, b)
	}
	if got := in.Verdict.String(); got != "voltage-sag/line" {
		t.Errorf("losses in dips: %s: %v", in.Verdict.Summary, top(in, 4))
	}
}

// Whatever the volts are, probabilities stay probabilities and the bits reproduce them.
func TestAnyVoltsKeepProbabilities(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		f := func(name string) float64 {
			return rapid.OneOf(rapid.Just(nan), rapid.Just(0.0), rapid.Float64Range(-500, 500)).Draw(t, name)
		}
		v := quiet()
		v.Low, v.Mid, v.High, v.DipTo, v.Judged = f("low"), f("mid"), f("high"), f("dip"), f("judged")
		v.PlaceMove, v.PlaceErr, v.MarkNoise, v.MarkErr, v.Hz = f("place"), f("place error"), f("growth"), f("growth error"), f("hz")
		v.TauBits, v.SamplesABit, v.BeyondMost, v.Peak = f("tau"), f("samples"), f("beyond"), f("peak")
		v.Hum[capture.Mid], v.Hum[capture.High], v.Ripple[capture.Mid] = f("hum"), f("hum high"), f("ripple")
		v.Dips.N, v.Spikes.N, v.Beyond.N = rapid.Int64Range(0, 1e6).Draw(t, "dips"), rapid.Int64Range(0, 1e9).Draw(t, "spikes"), rapid.Int64Range(0, 9).Draw(t, "excursions")
		v.OnlyMains, v.Coupled, v.Curved = rapid.Bool().Draw(t, "mains"), rapid.Bool().Draw(t, "ac"), rapid.Bool().Draw(t, "curved")
		j := onLoop(counts{goodA: rapid.Int64Range(0, 300).Draw(t, "a"), goodB: rapid.Int64Range(0, 300).Draw(t, "b"), dirtyA: rapid.Int64Range(0, 50).Draw(t, "dirty")}, v)
		sum := 0.0
		var sound verdict.Candidate
		for _, c := range j.Candidates {
			if c.Cause == cause.None {
				sound = c
			}
		}
		for _, c := range j.Candidates {
			sum += c.Probability
			bits := c.PriorBits
			for _, e := range j.Evidence {
				bits += e.Bits[c.Key]
			}
			if want := sound.Probability * math.Exp2(bits); math.Abs(want-c.Probability) > 1e-9*(want+c.Probability)+1e-300 || c.Probability != c.Probability {
				t.Fatalf("%s: probability %g, its bits say %g", c.Key, c.Probability, want)
			}
		}
		if math.Abs(sum-1) > 1e-9 {
			t.Fatalf("probabilities sum to %g", sum)
		}
	})
}
