package verdict_test

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"linewitness/capture"
	"linewitness/decode/cause"
	"linewitness/decode/validate"
	"linewitness/decode/verdict"
)

// count is n of so many, measured.
func count(n, of int64) validate.Count {
	c := validate.Count{Of: of, Measured: true}
	for i := range n {
		if c.N++; len(c.At) < validate.MostTimes {
			c.At = append(c.At, capture.Tick(1000*i))
		}
	}
	return c
}

// spoken is a clean line of 400 polls and replies with a dialogue that could be measured in full.
func spoken(tap capture.Tap, change func(*validate.Facts)) verdict.Input {
	f := &validate.Facts{TwoTalk: true, Senders: []validate.Sender{{Side: capture.Indoor, Frames: 400, Good: 400},
		{Side: capture.Outdoor, Frames: 400, Good: 400}}}
	f.Answered, f.Solicited = 400, 400
	for range 400 {
		f.Senders[1].Turn.Add(0.02)
	}
	d := &f.Dialogue
	d.Seconds = 160
	d.Unasked, d.Doubled, d.Foreign, d.WrongAnswer, d.Early = count(0, 400), count(0, 400), count(0, 400), count(0, 400), count(0, 400)
	d.Repeated, d.Ignored, d.Interleaved, d.Overlaps = count(0, 0), count(0, 399), count(0, 398), count(0, 799)
	d.Slow, d.Silences = count(0, 399), count(0, 799)
	for i := range d.Starts {
		d.Starts[i].Count, d.Resets[i].Count, d.Faults[i] = count(0, 400), count(0, 399), count(0, 399)
	}
	if change != nil {
		change(f)
	}
	m := verdict.Signal{PPM: 30, PM: 20, BiasPct: 1}
	return verdict.Input{Facts: f, Tap: tap, Changes: 1000, Signals: []verdict.Signal{m, m}, Second: 1e9}
}

func TestWhatTheDialogueProves(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name   string
		tap    capture.Tap
		change func(*validate.Facts)
		want   string
	}{
		{"sound", capture.Pair, nil, "none/none"},
		{"sound at the loop", capture.LoopCurrent, nil, "none/none"},
		{"the controller repeats after good replies", capture.LoopCurrent, func(f *validate.Facts) {
			f.Dialogue.Ignored = count(200, 399)
		}, "deaf-receiver/indoor"},
		{"at its own terminal", capture.IndoorTerminal, func(f *validate.Facts) { f.Dialogue.Ignored = count(200, 399) }, "deaf-receiver/indoor"},
		{"at the other end the wire beyond may lose them", capture.OutdoorTerminal, func(f *validate.Facts) {
			f.Dialogue.Ignored = count(200, 399)
		}, "unknown/unknown"},
		{"it repeats no more than the damage explains", capture.LoopCurrent, func(f *validate.Facts) {
			f.Senders[1].Good, f.Senders[1].Dirty = 360, count(40, 0).Times
			f.Dialogue.Ignored = count(40, 359)
		}, "unknown/unknown"},
		{"once in a day is no fault", capture.LoopCurrent, func(f *validate.Facts) { f.Dialogue.Ignored = count(1, 399) }, "none/none"},
		{"slow polls alone are sleep", capture.LoopCurrent, func(f *validate.Facts) {
			f.Dialogue.Slow, f.Dialogue.SlowAfterGood = count(3, 399), count(3, 0).Times
			f.Dialogue.SlowSeconds, f.Dialogue.PaceSeconds = 80, 160
		}, "none/none"},
		{"two schedules", capture.Pair, func(f *validate.Facts) { f.Dialogue.Interleaved = count(390, 398) }, "two-controllers/line"},
		{"two schedules that may as well be repetitions", capture.LoopCurrent, func(f *validate.Facts) {
			f.Dialogue.Interleaved, f.Dialogue.Ignored = count(390, 398), count(199, 399)
		}, "unknown/unknown"},
		{"polls at both levels", capture.IndoorTerminal, func(f *validate.Facts) {
			f.Dialogue.Elsewhere = count(200, 400)
		}, "two-controllers/line"},
		{"all polls at the other level: the profile errs", capture.IndoorTerminal, func(f *validate.Facts) {
			f.Dialogue.Elsewhere = count(400, 400)
		}, "none/none"},
		{"replies from another address", capture.Pair, func(f *validate.Facts) { f.Dialogue.Foreign = count(100, 400) }, "addressing/line"},
		{"two replies to a poll", capture.Pair, func(f *validate.Facts) { f.Dialogue.Doubled = count(150, 400) }, "addressing/line"},
		{"one second reply is an accident", capture.Pair, func(f *validate.Facts) { f.Dialogue.Doubled = count(1, 400) }, "none/none"},
		{"the responder starts again and again", capture.Pair, func(f *validate.Facts) {
			f.Dialogue.Starts[1].Count = count(5, 400)
		}, "restarts/outdoor"},
		{"the controller starts again and again, by its count", capture.Pair, func(f *validate.Facts) {
			f.Dialogue.Resets[0].Count = count(5, 400)
		}, "restarts/indoor"},
		{"one start: somebody switched it on", capture.Pair, func(f *validate.Facts) { f.Dialogue.Starts[1].Count = count(1, 400) }, "none/none"},
		{"both start at once: their mains, dips or a contact", capture.Pair, func(f *validate.Facts) {
			f.Dialogue.Starts[0].Count, f.Dialogue.Starts[1].Count = count(5, 400), count(5, 400)
			f.Dialogue.Together = count(5, 0).Times
		}, "unknown/unknown"},
		{"overlaps alone: late, doubled, or two controllers", capture.Pair, func(f *validate.Facts) {
			f.Dialogue.Overlaps = count(60, 799)
		}, "unknown/unknown"},
		{"long silences, repeats, wrong answers convict nobody", capture.Pair, func(f *validate.Facts) {
			d := &f.Dialogue
			d.Silences, d.Repeated, d.WrongAnswer, d.Early, d.Unasked, d.Faults[1] = count(5, 799), count(5, 9), count(9, 400),
				count(9, 400), count(9, 400), count(2, 399)
		}, "none/none"},
	} {
		j := verdict.Judge(spoken(c.tap, c.change))
		if got := j.Verdict.String(); got != c.want {
			t.Errorf("%s: got %s, want %s: %s; candidates %v", c.name, got, c.want, j.Verdict.Summary, top(j, 6))
		}
	}
}

// Starts right after dips of the supply are the mains', not the unit's.
func TestStartsAfterDips(t *testing.T) {
	t.Parallel()
	in := spoken(capture.IndoorTerminal, func(f *validate.Facts) {
		s := count(4, 400)
		for i := range s.At {
			s.At[i] = capture.Tick(i)*20e9 + 3e9
		}
		f.Dialogue.Starts[1].Count = s
	})
	nan := math.NaN()
	volts := func(dips int) *verdict.Volts {
		v := &verdict.Volts{Loop: true, Levels: 3, Low: 0.5, Mid: 12, High: 24, Judged: 1, DipTo: nan, PlaceMove: nan,
			HighMove: nan, Hz: nan, TauBits: nan,
			MarkNoise: nan, Noise: 0.1, SamplesABit: 50, PlaceErr: nan, MarkErr: nan, Effective: nan, BeyondMost: nan, Seconds: 160}
		for i := range dips {
			at := capture.Tick(i) * 20e9
			v.Dips.N++
			v.Dips.At = append(v.Dips.At, at)
			v.DipSpans, v.DipTo = append(v.DipSpans, verdict.Span{From: at, To: at + 1e9, Residual: 0.5}), 0.5
		}
		return v
	}
	restarts, sag := verdict.Key{Cause: cause.Restarts, Side: capture.Outdoor}, verdict.Key{Cause: cause.VoltageSag, Side: capture.Line}
	p := func(j verdict.Judged, k verdict.Key) float64 {
		return j.Candidates[slices.IndexFunc(j.Candidates, func(c verdict.Candidate) bool { return c.Key == k })].Probability
	}
	in.Volts = volts(0)
	if j := verdict.Judge(in); j.Verdict.Key != restarts {
		t.Errorf("no dips: %s, %v", j.Verdict.Summary, top(j, 4))
	}
	in.Volts = volts(4)
	if j := verdict.Judge(in); p(j, sag) < 20*p(j, restarts) {
		t.Errorf("dips before each start: sag %.4f, restarts %.4f", p(j, sag), p(j, restarts))
	}
}

// A fact that was not measured moves nothing, whatever its numbers.
func TestNotMeasuredMovesNothing(t *testing.T) {
	t.Parallel()
	plain := verdict.Judge(spoken(capture.Pair, func(f *validate.Facts) { f.Dialogue = validate.Dialogue{} }))
	numbers := verdict.Judge(spoken(capture.Pair, func(f *validate.Facts) {
		c := count(100, 400)
		c.Measured = false
		s := validate.Started{Count: c}
		f.Dialogue = validate.Dialogue{Unasked: c, Doubled: c, Foreign: c, WrongAnswer: c, Early: c, Repeated: c, Ignored: c,
			Interleaved: c, Elsewhere: c,
			Overlaps: c, Slow: c, Silences: c, Starts: [2]validate.Started{s, s}, Resets: [2]validate.Started{s, s}, Faults: [2]validate.Count{c, c}}
	}))
	if len(plain.Evidence) != len(numbers.Evidence) {
		t.Errorf("%d pieces of evidence, %d without numbers", len(numbers.Evidence), len(plain.Evidence))
	}
	for i, c := range plain.Candidates {
		if n := numbers.Candidates[i]; n != c {
			t.Errorf("%v became %v", c, n)
		}
	}
}

// Prior and evidence bits reproduce the probabilities with any dialogue, and no fact of it claims more than it may.
func TestDialogueBitsReproduceTheProbabilities(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := spoken(rapid.SampledFrom([]capture.Tap{capture.Pair, capture.LoopCurrent, capture.OutdoorTerminal}).Draw(t, "tap"),
			func(f *validate.Facts) {
				d := &f.Dialogue
				for _, c := range []*validate.Count{&d.Unasked, &d.Doubled, &d.Foreign, &d.WrongAnswer, &d.Early, &d.Repeated,
					&d.Ignored, &d.Interleaved, &d.Elsewhere,
					&d.Overlaps, &d.Slow, &d.Silences, &d.Starts[0].Count, &d.Starts[1].Count, &d.Resets[0].Count, &d.Resets[1].Count,
					&d.Faults[0], &d.Faults[1]} {
					of := rapid.Int64Range(0, 1000).Draw(t, "of")
					*c = count(rapid.Int64Range(0, of).Draw(t, "n"), of)
					c.Measured = rapid.Bool().Draw(t, "measured")
				}
			})
		j := verdict.Judge(in)
		most, sum := math.Inf(-1), 0.0
		w := make([]float64, len(j.Candidates))
		for i, c := range j.Candidates {
			w[i] = c.PriorBits
			for _, e := range j.Evidence {
				b := e.Bits[c.Key]
				if math.IsNaN(b) || math.Abs(b) > 20 && e.ID != "losses" {
					t.Fatalf("%s gives %s %g bits", e.ID, c.Key, b)
				}
				w[i] += b
			}
			most = max(most, w[i])
		}
		for _, b := range w {
			sum += math.Exp2(b - most)
		}
		for i, c := range j.Candidates {
			if p := math.Exp2(w[i]-most) / sum; math.Abs(p-c.Probability) > 1e-6 {
				t.Fatalf("%s: %v by bits, %v printed", c.Key, p, c.Probability)
			}
		}
	})
}
