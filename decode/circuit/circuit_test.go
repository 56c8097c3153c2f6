package circuit

import (
	"math"
	"testing"

	"linewitness/decode/cause"

	"pgregory.net/rapid"
)

func near(a, b float64) bool { return math.Abs(a-b) <= 1e-9*math.Max(1, math.Abs(b)) }

// plain is a line of round figures: 30 V outdoors through 2 V and 3 kilohms, sunk indoors by 1 V and 1 kilohm.
func plain() Line {
	l := Line{Feed: Outdoor, Supply: 30, Entry: Indoor, Mains: 230, JointS: 1, Leak: math.Inf(1), LeakAt: Indoor, Ghost: 0.2}
	l.Units[0] = Unit{Ohms: 1000, Drop: 1, Duty: 0.25, Live: true}
	l.Units[1] = Unit{Ohms: 3000, Drop: 2, Duty: 0.25, Live: true}
	return l
}

// By hand, the meter's 10 megohms neglected within 0.05 %. Mark: (30 - 2 - 1) V over 4001 ohm is 6.7483 mA, S indoors stands at
// 1 V + 1000 ohm x 6.7483 mA = 7.748 V, outdoors 1 ohm higher. Indoors open: 28 V. Outdoors open: the sink gets no current, 0 V.
func TestLevelsByHand(t *testing.T) {
	l := plain()
	for _, c := range []struct {
		at              Place
		mark, low, high float64
	}{{Indoor, 7.7483, 0, 28}, {Outdoor, 7.7550, 0, 28}} {
		mark, low, high := l.Levels(c.at)
		if math.Abs(mark-c.mark) > 0.004 || math.Abs(low-c.low) > 0.004 || math.Abs(high-c.high) > 0.015 {
			t.Errorf("%v: mark %.4f, low %.4f, high %.4f V", c.at, mark, low, high)
		}
	}
}

// By hand: a meter averages. A quarter of the time at 28 V lifts 7.748 V by a quarter of the step, 5.063 V, to 12.81 V; a quarter at 0 V lowers
// it by 1.937 V to 5.81 V; both at once give 10.87 V.
func TestMeterByHand(t *testing.T) {
	l := plain()
	got := l.Show(Quantity{From: S, To: N, At: Indoor})
	if math.Abs(got.DC.Low-5.811) > 0.01 || math.Abs(got.DC.High-12.811) > 0.01 || !got.DC.Swings() {
		t.Errorf("%+v", got.DC)
	}
	turned := l.Show(Quantity{From: N, To: S, At: Indoor})
	if !near(turned.DC.Low, -got.DC.High) || !near(turned.DC.High, -got.DC.Low) {
		t.Errorf("N to S: %+v", turned.DC)
	}
}

func TestFaults(t *testing.T) {
	steady := func(l Line, q Quantity, low, high float64) {
		t.Helper()
		if got := l.Show(q).DC; got.Low < low || got.High > high {
			t.Errorf("%+v: %+v, want %g to %g V", q, got, low, high)
		}
	}
	indoors, outdoors := Quantity{From: S, To: N, At: Indoor}, Quantity{From: S, To: N, At: Outdoor}
	lifted := Quantity{From: S, To: N, At: Outdoor, Lifted: Outdoor}
	hangs := Quantity{From: S, To: N, At: Indoor, Lifted: Outdoor}

	open := plain()
	open.OpenS, open.Units[1].Sender = true, Closed
	steady(open, indoors, 0, 0)
	steady(open, outdoors, 27.9, 28)
	steady(open, lifted, 27.9, 28)

	dead := plain()
	dead.Units[1].Live, dead.Units[0].Sender = false, Closed
	steady(dead, outdoors, 0, 0)
	steady(dead, lifted, 0, 0)

	short := plain()
	short.Leak = 0.2
	steady(short, indoors, -0.01, 0.01)
	steady(short, lifted, 20, 28) // the terminal is bare, the short hangs on the wire
	steady(short, hangs, -0.01, 0.01)

	silent := plain()
	silent.Units[0].Sender, silent.Units[1].Sender = Closed, Closed
	steady(silent, indoors, 7.7, 7.8)

	stuck := plain()
	stuck.Units[0].Sender, stuck.Units[1].Sender = Open, Closed
	steady(stuck, indoors, 27.9, 28)

	negative := plain()
	negative.Supply, negative.Units[0].Sender, negative.Units[1].Sender = -30, Closed, Closed
	steady(negative, indoors, -7.8, -7.7)

	// Ghost volts: a fifth of 230 V on a meter of 10 megohms, a thirty-third of that on 300 kilohms (common practice, no source).
	if ac := open.Show(indoors).AC; ac.High > 1 { // the indoor unit's own sink holds S
		t.Errorf("open S indoors, its sink closed: %+v", ac)
	}
	open.Units[0].Sender = Open
	high := open.Show(indoors).AC.High
	indoors.Meter = LowZ
	if low := open.Show(indoors).AC.High; !near(high, 46) || !near(low, 46*0.03) {
		t.Errorf("ghost volts %g, at low impedance %g", high, low)
	}
}

func TestMainsConductors(t *testing.T) {
	mains := func(l Line, from, to Conductor, at Place) float64 {
		return l.Show(Quantity{From: from, To: to, At: at}).AC.High
	}
	l := plain()
	l.NDrop = 2
	if v := mains(l, L, N, Outdoor); !near(v, 228) {
		t.Errorf("L to N outdoors %g V", v)
	}
	l.OpenN = true
	if v := mains(l, N, PE, Outdoor); v < 200 {
		t.Errorf("N to PE outdoors with N open: %g V: that is dangerous and must show", v)
	}
	if v := mains(l, L, N, Outdoor); v > 20 {
		t.Errorf("L to N outdoors with N open: %g V", v)
	}
	l = plain()
	l.Order = OrderSN
	if v := mains(l, S, N, Outdoor); v < 200 {
		t.Errorf("S and N exchanged: S to N %g V", v)
	}
}

func TestOhms(t *testing.T) {
	l := plain()
	if got := l.Ohms(S, S); got != 1 {
		t.Errorf("S end to end %g ohm", got)
	}
	l.OpenS = true
	if got := l.Ohms(S, S); !math.IsInf(got, 1) {
		t.Errorf("S open: %g ohm", got)
	}
	l.Leak = 470
	if got := l.Ohms(S, N); got != 470 {
		t.Errorf("S to N %g ohm", got)
	}
}

// Every solution holds Kirchhoff's current law at both nodes, and no diode conducts against itself.
func TestKirchhoff(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		conduct := func(name string) float64 {
			if rapid.Bool().Draw(t, name+" is there") {
				return math.Pow(10, rapid.Float64Range(-7, 1).Draw(t, name))
			}
			return 0
		}
		n := net{between: conduct("between"), source: conduct("source"), sinking: conduct("sink"),
			emf: rapid.Float64Range(0, 140).Draw(t, "emf"), sinkV: rapid.Float64Range(0.5, 3).Draw(t, "drop")}
		n.ground = [2]float64{1e-7 + conduct("leak at one"), 1e-7 + conduct("leak at the other")}
		a, b := n.solve()
		in := math.Max(0, n.emf-a) * n.source
		out := math.Max(0, b-n.sinkV) * n.sinking
		across := (a - b) * n.between
		scale := 1e-9 + 1e-6*(in+out)
		if math.Abs(in-a*n.ground[0]-across) > scale || math.Abs(across-b*n.ground[1]-out) > scale {
			t.Fatalf("%+v: %g and %g V: in %g, across %g, out %g A", n, a, b, in, across, out)
		}
	})
}

func TestDraws(t *testing.T) {
	for _, c := range cause.All() {
		if c == cause.OtherCause {
			continue
		}
		for _, at := range []Place{Between, Indoor, Outdoor} {
			all := Draws(c, at)
			if len(all) != drawsOfEach {
				t.Fatalf("%v: %d draws", c, len(all))
			}
			sum := 0.0
			for _, w := range Weigh(all, Nothing()) {
				sum += w.Weight
			}
			if !near(sum, 1) {
				t.Errorf("%v at %v: weights sum to %g", c, at, sum)
			}
		}
	}
}

// What was seen weighs the lines: the levels that are kept are those seen.
func TestWeigh(t *testing.T) {
	s := Nothing()
	s.At, s.Mark, s.Low, s.Top = Indoor, 12, 0.5, 30
	all := Weigh(Draws(cause.None, Between), s)
	mark, high := 0.0, 0.0
	for _, w := range all {
		m, _, h := w.Line.Levels(Indoor)
		mark, high = mark+w.Weight*m, high+w.Weight*h
	}
	if math.Abs(mark-12) > 1 || math.Abs(high-30) > 0.5 {
		t.Errorf("of %d lines: mark %.2f V, high %.2f V", len(all), mark, high)
	}
}

// go test ./decode/circuit -run ^$ -bench . -benchmem
func BenchmarkShow(b *testing.B) {
	all := Draws(cause.None, Between)
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		all[i%len(all)].Sound.Show(Quantity{From: S, To: N, At: Indoor})
	}
}

func BenchmarkWeigh(b *testing.B) {
	s := Nothing()
	s.At, s.Mark, s.Low, s.Top = Indoor, 12, 0.5, 30
	b.ReportAllocs()
	for b.Loop() {
		Weigh(Draws(cause.None, Between), s)
	}
}
