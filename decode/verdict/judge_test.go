package verdict_test

import (
	"fmt"
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

// counts is a line of two talkers.
type counts struct {
	goodA, goodB                                  int64
	cleanA, cleanB, dirtyA, dirtyB, missing, late int64
	ppmB, biasB                                   float64
	tap                                           capture.Tap
}

func judge(c counts) verdict.Judged {
	f := &validate.Facts{TwoTalk: true, Senders: []validate.Sender{{Side: capture.SideA}, {Side: capture.SideB}}}
	a, b := &f.Senders[0], &f.Senders[1]
	a.Good, b.Good = c.goodA, c.goodB
	a.Clean.N, b.Clean.N, a.Dirty.N, b.Dirty.N = c.cleanA, c.cleanB, c.dirtyA, c.dirtyB
	a.Frames, b.Frames = c.goodA+c.cleanA+c.dirtyA, c.goodB+c.cleanB+c.dirtyB
	b.Missing.N, b.Late.N = c.missing, c.late
	for range b.Frames {
		b.Turn.Add(0.01)
	}
	f.Answered, f.Solicited = b.Frames, b.Frames+c.missing
	return verdict.Judge(verdict.Input{Facts: f, Tap: c.tap, Changes: 1000,
		Signals: []verdict.Signal{{PPM: 30, PM: 20, BiasPct: 1}, {PPM: c.ppmB, PM: 20, BiasPct: c.biasB}}})
}

func TestWhatTheFactsProve(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name string
		counts
		want string // cause/side of the verdict
	}{
		{"all good", counts{goodA: 400, goodB: 400, tap: capture.Pair}, "none/none"},
		{"every sum of b wrong on clean bits", counts{goodA: 400, cleanB: 400, tap: capture.Pair}, "bad-checksum/b"},
		{"every sum of a wrong on clean bits", counts{cleanA: 400, goodB: 400, tap: capture.Pair}, "bad-checksum/a"},
		{"clock of b 4 % fast", counts{goodA: 400, goodB: 400, ppmB: 40000, tap: capture.Pair}, "clock-off/b"},
		{"b never answers, current flows", counts{goodA: 400, missing: 400, tap: capture.LoopCurrent}, "silent-sender/b"},
		{"b never answers on a pair: open, off or dumb", counts{goodA: 400, missing: 400, tap: capture.Pair}, "unknown/unknown"},
		{"damage at both: the wiring, but which", counts{goodA: 300, goodB: 300, dirtyA: 60, dirtyB: 60, tap: capture.Pair}, "unknown/unknown"},
		{"damage at one side only convicts no board", counts{goodA: 400, goodB: 340, dirtyB: 60, tap: capture.Pair}, "unknown/unknown"},
		{"at a board's own pin the other side need not show", counts{goodA: 400, missing: 400, tap: capture.BoardPin}, "none/none"},
		{"one loss in a thousand is no fault", counts{goodA: 1000, goodB: 999, dirtyB: 1, tap: capture.Pair}, "none/none"},
	} {
		j := judge(c.counts)
		if got := j.Verdict.String(); got != c.want {
			t.Errorf("%s: got %s, want %s: %s; candidates %v", c.name, got, c.want, j.Verdict.Summary, top(j, 6))
		}
	}
}

func top(j verdict.Judged, n int) (s []string) {
	for _, c := range j.Candidates[:n] {
		s = append(s, fmt.Sprintf("%s %.3f", c.Key, c.Probability))
	}
	return s
}

// Few frames prove little: the prior still shows, and more of the same make it surer.
func TestMoreGoodFramesMakeSurer(t *testing.T) {
	t.Parallel()
	last := 0.5
	for _, n := range []int64{1, 3, 10, 30, 100, 300} {
		p := judge(counts{goodA: n, goodB: n, tap: capture.Pair}).Verdict.Probability
		if p <= last || n == 1 && p > 0.8 {
			t.Errorf("%d frames a side: probability %.3f after %.3f", n, p, last)
		}
		last = p
	}
}

// A silent line is no fault and no verdict.
func TestSilenceIsUndetermined(t *testing.T) {
	t.Parallel()
	j := verdict.Judge(verdict.Input{Tap: capture.Pair})
	if !j.Verdict.Undetermined || j.Verdict.Cause != cause.Unknown {
		t.Errorf("got %+v", j.Verdict)
	}
}

func drawCounts(t *rapid.T) counts {
	n := func(name string, most int64) int64 { return rapid.Int64Range(0, most).Draw(t, name) }
	return counts{goodA: n("goodA", 2000), goodB: n("goodB", 2000), cleanA: n("cleanA", 50), cleanB: n("cleanB", 50),
		dirtyA: n("dirtyA", 50), dirtyB: n("dirtyB", 50), missing: n("missing", 50), late: 0,
		ppmB: rapid.Float64Range(-9e4, 9e4).Draw(t, "ppm"), biasB: rapid.Float64Range(-45, 45).Draw(t, "bias"),
		tap: rapid.SampledFrom([]capture.Tap{capture.Pair, capture.LoopCurrent, capture.BoardPin}).Draw(t, "tap")}
}

// The probabilities sum to 1, and prior and evidence bits reproduce them.
func TestBitsReproduceTheProbabilities(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		j := judge(drawCounts(t))
		sum, weights := 0.0, 0.0
		w := make([]float64, len(j.Candidates))
		other := false
		for i, c := range j.Candidates {
			sum += c.Probability
			b := c.PriorBits
			for _, e := range j.Evidence {
				b += e.Bits[c.Key]
			}
			w[i] = b
			other = other || c.Cause == cause.OtherCause
			if i > 0 && c.Probability > j.Candidates[i-1].Probability {
				t.Fatalf("candidate %d is likelier than the one before", i)
			}
		}
		if math.Abs(sum-1) > 1e-9 || !other {
			t.Fatalf("sum %v, other among them: %v", sum, other)
		}
		most := slices.Max(w)
		for _, b := range w {
			weights += math.Exp2(b - most)
		}
		for i, c := range j.Candidates {
			if p := math.Exp2(w[i]-most) / weights; math.Abs(p-c.Probability) > 1e-6 {
				t.Fatalf("%s: %v by bits, %v printed", c.Key, p, c.Probability)
			}
		}
	})
}

// Mirrored counts give the mirrored answer: the side follows from what was seen, not from its place in the list.
func TestSidesMirror(t *testing.T) {
	t.Parallel()
	x := judge(counts{goodA: 380, cleanA: 20, goodB: 400, tap: capture.Pair})
	y := judge(counts{goodA: 400, goodB: 380, cleanB: 20, tap: capture.Pair})
	p := func(j verdict.Judged, k verdict.Key) float64 {
		for _, c := range j.Candidates {
			if c.Key == k {
				return c.Probability
			}
		}
		return math.NaN()
	}
	a := p(x, verdict.Key{Cause: cause.BadChecksum, Side: capture.SideA})
	b := p(y, verdict.Key{Cause: cause.BadChecksum, Side: capture.SideB})
	if math.Abs(a-b) > 0.02 {
		t.Errorf("bad-checksum: %.3f at a, %.3f at b", a, b)
	}
}

// Score interval at 95 %: Wilson 1927, cases of Newcombe 1998 (81 of 263) and of R's binom package.
func TestWilson(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ k, n, low, high float64 }{
		{10, 100, 0.0552291371, 0.1743656615}, {0, 10, 0, 0.2775327999}, {1, 20, 0.0088814488, 0.2361311934},
		{81, 263, 0.2552885199, 0.3662095770}, {3, 1000, 0.0010207839, 0.0087830141},
	} {
		low, high := verdict.Wilson(c.k, c.n)
		if math.Abs(low-c.low) > 1e-9 || math.Abs(high-c.high) > 1e-9 {
			t.Errorf("%g of %g: got %.10f to %.10f, want %.10f to %.10f", c.k, c.n, low, high, c.low, c.high)
		}
	}
}

// One talker proves nothing of the other: a missing reply is unknown here, not excluded.
func TestOneTalkerDoesNotClearTheOther(t *testing.T) {
	t.Parallel()
	f := &validate.Facts{Senders: []validate.Sender{{Side: capture.SideUnknown, Frames: 1000, Good: 1000}}}
	j := verdict.Judge(verdict.Input{Facts: f, Tap: capture.BoardPin, Changes: 1000, Signals: []verdict.Signal{{PPM: 0, PM: 10, BiasPct: 0}}})
	if p := j.Verdict.Probability; j.Verdict.Cause == cause.None && p > 0.85 {
		t.Errorf("sound with %.2f: %s", p, j.Verdict.Summary)
	}
	if !strings.Contains(j.Verdict.Summary, "of the other unit nothing was heard") {
		t.Errorf("the summary does not say so: %s", j.Verdict.Summary)
	}
	for _, c := range j.Candidates {
		switch c.Cause {
		case cause.OpenConductor, cause.SilentSender, cause.NoPower:
			if c.Probability < 0.003 {
				t.Errorf("%s: %.4f, though nothing was heard of the other unit", c.Key, c.Probability)
			}
		}
	}
}
