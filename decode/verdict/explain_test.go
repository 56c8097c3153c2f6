package verdict_test

import (
	"math"
	"strings"
	"testing"

	"linewitness/capture"
	"linewitness/decode/cause"
	"linewitness/decode/verdict"
)

// By hand: 50 of 450 frames of b have wrong sums on clean bits, nothing else is lost: 50 of 900 frames and replies due. A sound line loses
// 1/201 of 900, 4.48; what the board accounts for beyond that is (50 - 4.48)/50 = 91.0 %.
func TestExplainsByHand(t *testing.T) {
	t.Parallel()
	j := judge(counts{goodA: 450, goodB: 400, cleanB: 50, tap: capture.Pair})
	v := &j.Verdict
	if v.Cause != cause.BadChecksum {
		t.Fatalf("%v: %v", v.Key, top(j, 4))
	}
	lost, of := 50.0, 900.0
	if want := 100 * (lost - of/201) / lost; math.Abs(v.Explains-want) > 1e-9 || !(v.ExplainsLow < v.Explains && v.Explains < v.ExplainsHigh) {
		t.Errorf("explains %.3f %% (%.1f to %.1f), by hand %.3f", v.Explains, v.ExplainsLow, v.ExplainsHigh, want)
	}
}

// A second fault is named where it explains what the first cannot: wrong sums of b are b's board, damage on the frames of a is not.
func TestAlso(t *testing.T) {
	t.Parallel()
	two := judge(counts{goodA: 450, cleanB: 400, late: 0, goodB: 0, tap: capture.Pair, dirtyA: 0, missing: 0, ppmB: 0})
	if len(two.Also) != 0 {
		t.Errorf("one fault: also %v", two.Also)
	}
	two = judge(counts{goodA: 400, cleanB: 400, ppmB: 40000, tap: capture.Pair})
	for _, k := range two.Also {
		if k.Key == two.Verdict.Key {
			t.Errorf("the verdict %v once more", k.Key)
		}
		if !(k.Probability > 0 && k.Probability <= two.Verdict.Probability) {
			t.Errorf("%v with %.3f, the verdict has %.3f", k.Key, k.Probability, two.Verdict.Probability)
		}
	}
	late := judge(counts{goodA: 400, cleanB: 400, late: 60, tap: capture.LoopCurrent})
	named := map[verdict.Key]bool{late.Verdict.Key: true}
	for _, k := range late.Also {
		named[k.Key] = true
	}
	if b := capture.SideB; !named[verdict.Key{Cause: cause.LateReplies, Side: b}] || !named[verdict.Key{Cause: cause.BadChecksum, Side: b}] {
		t.Errorf("b sends wrong sums, and late: %v (%.3f), also %v; %v", late.Verdict.Key, late.Verdict.Probability, late.Also, top(late, 5))
	}
}

func TestClearedByTraffic(t *testing.T) {
	t.Parallel()
	j := judge(counts{goodA: 412, goodB: 412, tap: capture.OutdoorTerminal})
	var all []string
	for _, c := range j.Cleared {
		all = append(all, c.What+": "+c.Because)
	}
	for _, want := range []string{"its sending side: 412 of 412 frames were good at the outdoor terminals", "its receiving side: it answered 412 of 412 good polls"} {
		if !strings.Contains(strings.Join(all, "\n"), want) {
			t.Errorf("no %q in %q", want, all)
		}
	}
	bad := judge(counts{goodA: 412, goodB: 300, dirtyB: 112, tap: capture.OutdoorTerminal})
	for _, c := range bad.Cleared {
		if strings.Contains(c.What, "wiring") || strings.Contains(c.What, "talker b (answers): its sending") {
			t.Errorf("with damaged replies cleared: %+v", c)
		}
	}
}
