package tally_test

import (
	"math"
	"testing"

	"linewitness/capture"
	"linewitness/decode/tally"
)

// An event shows the volts as they were, thinned without losing its lowest and highest, and nothing that is forgotten.
func TestEventsShowTheVoltsAround(t *testing.T) {
	t.Parallel()
	k := tally.NewKeeper(10, 100)
	scope := k.WithVolts()
	usual := [4]float64{math.NaN(), 0, 12, 24}
	const n = 400_000
	for from := 0; from < n; from += 1000 {
		b := &capture.Block{}
		for i := from; i < from+1000; i++ {
			v := 12.0
			switch i {
			case 390_123:
				v = -7
			case 390_456:
				v = 31
			}
			b.SampleAt, b.Volts = append(b.SampleAt, capture.Tick(i)), append(b.Volts, v)
		}
		scope.Add(b)
	}
	k.Event("dip", "long forgotten", 1000, 2000, usual)
	if got := len(k.Excerpts()); got != 0 {
		t.Fatalf("%d excerpts of what is forgotten", got)
	}
	k.Event("dip", "here", 390_000, 392_000, usual)
	all := k.Excerpts()
	if len(all) != 1 {
		t.Fatalf("%d excerpts", len(all))
	}
	e := &all[0]
	if len(e.Volts) == 0 || len(e.Volts) > 2000 || e.Volts[0].At < e.From || e.Volts[len(e.Volts)-1].At > e.To {
		t.Fatalf("%d columns from %d to %d", len(e.Volts), e.From, e.To)
	}
	low, high := math.Inf(1), math.Inf(-1)
	for _, c := range e.Volts {
		low, high = min(low, c.Low), max(high, c.High)
	}
	if low != -7 || high != 31 || e.Heights()[capture.Mid] != 12 {
		t.Errorf("from %g to %g, mark at %g", low, high, e.Heights()[capture.Mid])
	}
	for range 100 {
		k.Event("dip", "again", 390_000, 392_000, usual)
	}
	if got := len(k.Excerpts()); got > 4 {
		t.Errorf("%d excerpts of one kind", got)
	}
}
