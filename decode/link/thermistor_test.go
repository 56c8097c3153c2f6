package link_test

import (
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"linewitness/decode/link"
)

// tables reads testdata/ntc.csv: points by thermistor.
func tables(t *testing.T) map[string][]link.Point {
	t.Helper()
	data, err := os.ReadFile("testdata/ntc.csv")
	if err != nil {
		t.Fatal(err)
	}
	all := map[string][]link.Point{}
	for i, line := range strings.Split(strings.TrimSpace(string(data)), "\n") {
		if i < 2 {
			continue // source and heads
		}
		cells := strings.Split(line, ",")
		degC, err1 := strconv.ParseFloat(cells[1], 64)
		ohm, err2 := strconv.ParseFloat(cells[2], 64)
		if err1 != nil || err2 != nil {
			t.Fatalf("line %d: %q", i+1, line)
		}
		all[cells[0]] = append(all[cells[0]], link.Point{DegC: degC, Ohm: ohm})
	}
	return all
}

// A table gives its own points back, either way round the divider; of every second point, those between are met to 0.04 K:
// what straight pieces of 10 K in ln R over 1/T are worth on these tables (the worst measured was 0.038 K).
func TestThermistorTables(t *testing.T) {
	t.Parallel()
	for name, points := range tables(t) {
		for _, down := range []bool{false, true} {
			full := link.Thermistor{Points: points, Pull: 10000, Full: 1, PullDown: down}
			for i, q := range points {
				share := q.Ohm / (q.Ohm + 10000)
				if down {
					share = 10000 / (q.Ohm + 10000)
				}
				if i == 0 || i == len(points)-1 {
					continue // the last bit of share decides whether they are inside
				}
				if got := full.DegC(share); math.Abs(got-q.DegC) > 1e-9 {
					t.Errorf("%s, pull-down %v: %g ohm is %g degC, want %g", name, down, q.Ohm, got, q.DegC)
				}
			}
		}
		var coarse link.Thermistor
		for i := 0; i < len(points); i += 2 {
			coarse.Points = append(coarse.Points, points[i])
		}
		coarse.Pull, coarse.Full = 10000, 1
		worst := 0.0
		for i := 1; i < len(points)-1; i += 2 {
			worst = max(worst, math.Abs(coarse.DegC(points[i].Ohm/(points[i].Ohm+10000))-points[i].DegC))
		}
		if !(worst < 0.04) {
			t.Errorf("%s: every second point: %.3f K", name, worst)
		}
	}
}

// Values of R25 exp(B (1/T - 1/298.15 K)), 10 kohm, computed (B equation), and a generated public table of 10 kohm, B 3974
// whose fractions are cut off (Zephyr).
func TestThermistorEquation(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		beta, degC, ohm, within float64
	}{
		{3435, -40, 248276.5, 0.05}, {3435, -20, 77522.5, 0.05}, {3435, 0, 28704.3, 0.05}, {3435, 50, 4101.2, 0.05}, {3435, 125, 553.7, 0.05},
		{3950, -40, 401859.7, 0.05}, {3950, 10, 20174.6, 0.05}, {3950, 60, 2486.2, 0.05}, {3950, 85, 1086.7, 0.05}, {3950, 100, 697.5, 0.05},
		{3977, 0, 33900.4, 0.05}, {3977, 125, 350.8, 0.05},
		{3974, -25, 146676, 1}, {3974, -5, 44424, 1}, {3974, 25, 10000, 1}, {3974, 55, 2956, 1}, {3974, 85, 1072, 1}, {3974, 125, 351, 1},
	} {
		curve := link.Thermistor{R25: 10000, Beta: c.beta, Pull: 10000, Full: 1}
		if got := curve.Resistance(c.degC); math.Abs(got-c.ohm) > c.within {
			t.Errorf("B %g at %g degC: %.2f ohm, want %g", c.beta, c.degC, got, c.ohm)
		}
		if got := curve.DegC(c.ohm / (c.ohm + 10000)); math.Abs(got-c.degC) > max(0.06, 0.12*c.within) {
			t.Errorf("B %g, %g ohm: %.3f degC, want %g", c.beta, c.ohm, got, c.degC)
		}
	}
}

// A single B of 3435.4 on the first table is wrong by these amounts (computed from the table's own points).
func TestThermistorOfOneNumberIsWrong(t *testing.T) {
	t.Parallel()
	curve := link.Thermistor{R25: 10000, Beta: 3435.4, Pull: 10000, Full: 1}
	for _, c := range []struct{ degC, ohm, off float64 }{{-40, 190030, 4.3}, {-20, 68104, 2.4}, {0, 27326, 1.1}, {125, 531, 1.9}} {
		if got := curve.DegC(c.ohm/(c.ohm+10000)) - c.degC; math.Abs(got-c.off) > 0.06 {
			t.Errorf("at %g degC it is off by %+.2f K, want %+.1f", c.degC, got, c.off)
		}
	}
}

// A divider of 10 kohm from 5 V with the first table, computed: 0 C 3.6605 V and so on; here full supply is the number 50000.
func TestDivider(t *testing.T) {
	t.Parallel()
	points := tables(t)["10k B25/85 3435"]
	f := link.Field{Name: "coil", Octets: 2, Unit: "degC", Curve: &link.Thermistor{Points: points, Pull: 10000, Full: 50000}}
	for degC, want := range map[float64]int64{0: 36605, 25: 25000, 50: 14684, 85: 6336} {
		n, err := f.NumberFor(degC)
		if err != nil || n != want {
			t.Errorf("%g degC: number %d (%v), want %d", degC, n, err, want)
		}
		if got := f.Value(want); math.Abs(got-degC) > 0.01 {
			t.Errorf("number %d: %g degC, want %g", want, got, degC)
		}
	}
	for _, n := range []int64{0, 50000, 60000, 49999, 1} { // shorted, open, beyond the divider, beyond the table
		if got := f.Value(n); !math.IsNaN(got) {
			t.Errorf("number %d: %g degC, want none", n, got)
		}
	}
	for _, degC := range []float64{-41, 126, math.NaN(), math.Inf(1), -300} {
		if n, err := f.NumberFor(degC); err == nil {
			t.Errorf("%g degC: number %d, want an error", degC, n)
		}
	}
}

// The extended equation of a 10 kohm, B25/85 3977 part: R = 10000 exp(-14.6337 + 4791.842/T - 115334/T^2 - 3.730535e6/T^3), its
// values as points (coefficients as several public projects give them from the data sheet; values computed).
func TestThermistorExtended(t *testing.T) {
	t.Parallel()
	points := []link.Point{{-40, 332100.1}, {-20, 96360.0}, {0, 32554.8}, {10, 19872.6}, {25, 10000.2}, {40, 5330.0}, {50, 3605.3},
		{60, 2490.0}, {85, 1070.3},
		{100, 677.3}, {125, 338.7}}
	curve := link.Thermistor{Points: points, Pull: 4700, Full: 1023}
	for _, degC := range []float64{-39, -30, -10, 5, 33, 45, 70, 110} {
		k := degC + 273.15
		want := 10000 * math.Exp(-14.6337+4791.842/k-115334/(k*k)-3.730535e6/(k*k*k))
		if got := curve.DegC(1023 * want / (want + 4700)); math.Abs(got-degC) > 0.3 {
			t.Errorf("%g degC between the points: %.3f", degC, got)
		}
	}
}
