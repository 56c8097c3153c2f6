package verdict_test

import (
	"math"
	"strings"
	"testing"

	"linewitness/capture"
	"linewitness/decode/cause"
	"linewitness/decode/check"
	"linewitness/decode/verdict"
)

func read(t *testing.T, texts ...string) (all []check.Reading) {
	t.Helper()
	for _, text := range texts {
		r, err := check.ParseReading(text)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, r)
	}
	return all
}

func bare(t *testing.T, texts ...string) verdict.Judged {
	t.Helper()
	return verdict.Judge(verdict.Input{Bare: true, Readings: read(t, texts...)})
}

func share(j verdict.Judged, c cause.Cause, s capture.Side) float64 {
	for _, k := range j.Candidates {
		if k.Key == (verdict.Key{Cause: c, Side: s}) {
			return k.Probability
		}
	}
	return math.NaN()
}

// What a technician finds with a hand meter alone. The readings follow from the circuit; that S lifted outdoors with a steady DC shows a
// living loop supply is common practice, no source.
func TestHandMeterAlone(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, want string
		read       string
	}{
		{"S open between the units", "open-conductor/line", "fault-shown=yes S-N@indoor=dc:steady:0.1V S-N@outdoor=dc:steady:24V S-S@line=ohm:over"},
		{"no mains outdoors", "no-power/outdoor", "fault-shown=yes outdoor-live=no L-N@outdoor,lifted=S,lifted-at=outdoor=ac:0V N-PE@outdoor=ac:1V S-N@outdoor,lifted=S,lifted-at=outdoor=dc:steady:0V"},
		{"S shorted to N", "shorted-conductors/line", "fault-shown=yes S-N@indoor=dc:steady:0V S-N@outdoor=dc:steady:0V S-N@outdoor,lifted=S,lifted-at=outdoor=dc:steady:30V S-N@line=ohm:0.3"},
		{"wet splice", "leakage/line", "joints=wet S-N@line=ohm:2.2k"},
		{"set wrong at a new line", "unknown/unknown", "history=new-installation settings=yes"},
	} {
		j := bare(t, strings.Fields(c.read)...)
		if got := j.Verdict.String(); got != c.want {
			t.Errorf("%s: %s, want %s: %s; candidates %v", c.name, got, c.want, j.Verdict.Summary, top(j, 5))
		}
	}
	if j := bare(t, "fault-shown=no"); !j.Verdict.Undetermined || !strings.Contains(j.Verdict.Summary, "only a recording") {
		t.Errorf("no fault shown, nothing recorded: %+v", j.Verdict)
	}
}

// By hand: sound has 0.5, a silent outdoor board (1 - 0.52)/3/18 beforehand (18 board candidates: nine causes at two units). A fault is
// shown: 0.025 against 0.975. The odds of that board against sound are 0.48/54/0.5 x 39 = 0.69333.
func TestOneReadingByHand(t *testing.T) {
	t.Parallel()
	j := bare(t, "fault-shown=yes")
	odds := share(j, cause.SilentSender, capture.Outdoor) / share(j, cause.None, capture.None)
	boards := 0
	for _, k := range j.Candidates {
		if k.Cause.Family() == cause.Board {
			boards++
		}
	}
	if want := 0.48 / 3 / float64(boards) / 0.5 * 0.975 / 0.025; math.Abs(odds-want) > 1e-9 {
		t.Errorf("odds %.6f, by hand %.6f with %d board candidates", odds, want, boards)
	}
}

func TestReadingsReproduceTheProbabilities(t *testing.T) {
	t.Parallel()
	j := bare(t, "history=worked-for-years", "fault-shown=yes", "S-N@indoor=dc:swings:0..12V", "S-S@line=ohm:400", "loads-at-times=unknown")
	sum := 0.0
	logs := make([]float64, len(j.Candidates))
	for i, k := range j.Candidates {
		logs[i] = k.PriorBits
		for _, e := range j.Evidence {
			logs[i] += e.Bits[k.Key]
		}
		sum += math.Exp2(logs[i])
	}
	for i, k := range j.Candidates {
		if p := math.Exp2(logs[i]) / sum; math.Abs(p-k.Probability) > 1e-9 {
			t.Errorf("%v: %.9f, by its bits %.9f", k.Key, k.Probability, p)
		}
	}
}

func TestClashingReadingsAreRepeated(t *testing.T) {
	t.Parallel()
	j := bare(t, "fault-shown=yes", "S-N@outdoor,lifted=S,lifted-at=outdoor=dc:steady:24V", "S-N@outdoor,lifted=S,lifted-at=outdoor=dc:steady:0V")
	if !strings.HasPrefix(j.Repeat, "S-N@outdoor,lifted") {
		t.Errorf("repeat %q: %v", j.Repeat, top(j, 4))
	}
	if j := bare(t, "fault-shown=yes", "S-S@line=ohm:over"); j.Repeat != "" {
		t.Errorf("readings that agree: repeat %q", j.Repeat)
	}
}

// A silent line is at fault where it should have talked, and only there.
func TestDemand(t *testing.T) {
	t.Parallel()
	silent := verdict.Input{Tap: capture.LoopCurrent}
	before := share(verdict.Judge(silent), cause.None, capture.None)
	silent.Readings = read(t, "demand=no")
	if j := verdict.Judge(silent); share(j, cause.None, capture.None) != before {
		t.Errorf("no call stood: sound moved from %.3f to %.3f", before, share(j, cause.None, capture.None))
	}
	silent.Readings = read(t, "demand=yes")
	if j := verdict.Judge(silent); share(j, cause.None, capture.None) > before/10 {
		t.Errorf("a call stood: sound moved from %.3f to %.3f", before, share(j, cause.None, capture.None))
	}
}

func TestHistories(t *testing.T) {
	t.Parallel()
	order := func(history string) float64 {
		return share(bare(t, "history="+history), cause.ReversedConductors, capture.Line)
	}
	if a, b, c := order("new-installation"), order("routine"), order("worked-for-years"); !(a > 2*b && b > 2*c) {
		t.Errorf("wrong order: new %.4f, routine %.4f, worked for years %.4f", a, b, c)
	}
	j := bare(t, "history=after-storm", "fault-shown=yes")
	if j.Prior.History != "after-storm" {
		t.Errorf("prior %+v", j.Prior)
	}
	for _, h := range check.Histories() {
		sum := 0.0
		for _, k := range bare(t, "history="+h).Candidates {
			sum += k.Probability
		}
		if math.Abs(sum-1) > 1e-9 {
			t.Errorf("%s: sum %g", h, sum)
		}
	}
}
