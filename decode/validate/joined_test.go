package validate_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"linewitness/capture"
	"linewitness/decode/validate"
)

// dipsAt are dips with their lowest value at these instants, in ms.
func dipsAt(at ...int) (d validate.DipEvents) {
	for _, t := range at {
		d.N++
		d.First = append(d.First, validate.DipEvent{Start: capture.Tick(t - 50), Worst: capture.Tick(t), End: capture.Tick(t + 50)})
	}
	return d
}

// Losses right after each dip are explained by dips; the same dips elsewhere explain nothing.
func TestLossesAtDips(t *testing.T) {
	t.Parallel()
	lost := map[int]bool{31: true, 77: true, 120: true, 171: true, 205: true, 262: true}
	f := damaged(300, func(i int) bool { return lost[i] })
	end := capture.Tick(300 * 500)
	hit := factOf(t, f.JoinedFacts(dipsAt(31*500, 77*500, 120*500, 171*500, 205*500, 262*500), 0, end), "joined.losses-at-dips", capture.SideB)
	if hit.Value != 1 || !(hit.P < 0.02) || hit.N != 6 {
		t.Errorf("dips at each loss: %+v", hit)
	}
	miss := factOf(t, f.JoinedFacts(dipsAt(5000, 28000, 49000, 73000, 95000, 118000), 0, end), "joined.losses-at-dips", capture.SideB)
	if !(miss.Value <= 0) || miss.P < 0.5 {
		t.Errorf("dips elsewhere: %+v", miss)
	}
	none := factOf(t, f.JoinedFacts(validate.DipEvents{}, 0, end), "joined.losses-at-dips", capture.SideB)
	if none.Measured() || none.P == none.P {
		t.Errorf("no dips: %+v", none)
	}
}

// Loads that step at each loss explain them, and talk that comes back 0.4 s after each dip recovers so; dips recover in 0.05 s.
func TestLoadsAndRecoveries(t *testing.T) {
	t.Parallel()
	lost := map[int]bool{31: true, 77: true, 120: true, 171: true, 205: true, 262: true}
	f, end := damaged(300, func(i int) bool { return lost[i] }), capture.Tick(300*500)
	var steps validate.Times
	for i := range 300 {
		if lost[i] {
			steps.N++
			steps.At = append(steps.At, capture.Tick(i*500+100))
		}
	}
	if x := factOf(t, f.JoinedSteps(steps, 0, end), "joined.losses-at-load-steps", capture.SideB); x.Value != 1 || !(x.P < 0.02) || x.N != 6 {
		t.Errorf("loads: %+v", x)
	}
	d := dipsAt(31*500+60, 77*500+60, 120*500+60, 171*500+60, 205*500+60, 262*500+60)
	for i := range d.First {
		d.First[i].Recovered = d.First[i].Worst + 50
	}
	all := f.JoinedFacts(d, 0, end)
	if x := factOf(t, all, "joined.dip-recovery", capture.Line); x.Value != 0.05 || x.N != 6 {
		t.Errorf("recovery of dips: %+v", x)
	}
	if x := factOf(t, all, "joined.talk-recovery", capture.SideB); math.Abs(x.Value-0.45) > 1e-12 || x.N != 6 {
		t.Errorf("recovery of talk: %+v", x)
	}
	if x := factOf(t, all, "joined.talk-recovery", capture.SideA); x.Measured() {
		t.Errorf("recovery of a side that lost nothing: %+v", x)
	}
}

// Dips and losses that know nothing of each other are joined no oftener than p says: exact binomial bound, 1e-6, at 0.05.
func TestStrangersAreNotJoined(t *testing.T) {
	t.Parallel()
	const lines = 300
	r := rand.New(rand.NewPCG(3, 4))
	alarms := 0
	for range lines {
		f := damaged(120, func(int) bool { return r.Float64() < 0.05 })
		at := make([]int, 1+r.IntN(8))
		for i := range at {
			at[i] = r.IntN(60000)
		}
		if x := factOf(t, f.JoinedFacts(dipsAt(at...), 0, 60000), "joined.losses-at-dips", capture.SideB); x.P <= 0.05 {
			alarms++
		}
	}
	if alarms > 37 { // P(binomial(300, 0.05) > 37) is below 1e-6
		t.Errorf("%d of %d joined at 0.05", alarms, lines)
	}
}
