package record

import (
	"encoding/binary"
	"fmt"
	"math"
	"slices"
)

// grid is the set of values that a converter or a number of decimals allows: number*step, or number/step where decimal.
// Both are exact inverses of how such values come about: a converter's code is multiplied by its step and rounded once; a
// decimal fraction is the float64 nearest to number/10^digits.
type grid struct {
	step    float64
	decimal bool
}

const maxNumber = 1 << 53 // up to here float64 holds every whole number

// number is v on the grid, and whether it comes back from it bit for bit (so -0 does not).
func (g grid) number(v float64) (int64, bool) {
	x := 0.0
	if g.decimal {
		x = math.Round(v * g.step)
	} else {
		x = math.Round(v / g.step)
	}
	if !(math.Abs(x) < maxNumber) {
		return 0, false
	}
	n := int64(x)
	return n, math.Float64bits(g.value(n)) == math.Float64bits(v)
}

func (g grid) value(n int64) float64 {
	if g.decimal {
		return float64(n) / g.step
	}
	return float64(n) * g.step
}

// misfit is the first value that is not on the grid, from one on; -1: all are.
func (g grid) misfit(volts []float64) int {
	for i, v := range volts {
		if _, ok := g.number(v); !ok {
			return i
		}
	}
	return -1
}

const (
	maxDigits  = 9
	gridSample = 64 // values looked at first
	gridTries  = 4
)

// findGrid is the grid on which all values lie: one of a step where there is one, for its numbers are the smaller.
func findGrid(volts []float64) (grid, bool) {
	if g, ok := findStep(volts); ok {
		return g, true
	}
	for digits := range maxDigits + 1 {
		if g := (grid{math.Pow10(digits), true}); g.misfit(volts) < 0 {
			return g, true
		}
	}
	return grid{}, false
}

// findStep is the grid of a step; a sample of the values says which, and then those that do not fit it.
func findStep(volts []float64) (grid, bool) {
	var d divisor
	every := max(len(volts)/gridSample, 1)
	for i := 0; i < len(volts); i += every {
		if !d.add(math.Abs(volts[i])) {
			return grid{}, false
		}
	}
	for range gridTries {
		g, wrong := d.grid(volts)
		if wrong < 0 {
			return g, true
		}
		was := d.step
		if !d.add(math.Abs(volts[wrong])) || d.step == was {
			return grid{}, false
		}
	}
	return grid{}, false
}

// divisor is the greatest common divisor of values that are known to 53 bits.
type divisor struct {
	step, largest float64
}

// Values are taken as multiples of a step down to 2^-26 of the largest; what remains below 2^-42 of it is rounding.
const (
	finest = 1.0 / (1 << 26)
	noise  = 1.0 / (1 << 42)
)

// add takes another value, not negative, in; false: there is no divisor that is large enough.
func (d *divisor) add(v float64) bool {
	if v == 0 {
		return true
	}
	d.largest = max(d.largest, v)
	a, b := v, d.step
	for b > d.largest*noise {
		r := math.Abs(math.Remainder(a, b))
		if r <= d.largest*noise {
			r = 0
		}
		a, b = b, r
	}
	// The larger a value, the finer it tells the step.
	d.step = v / max(math.Round(v/a), 1)
	return d.step > d.largest*finest
}

// grid is that of a step within the rounding of d's which all values fit, else the first that does not.
func (d *divisor) grid(volts []float64) (grid, int) {
	if d.step == 0 {
		return grid{step: 1}, grid{step: 1}.misfit(volts)
	}
	best, far := grid{}, -1
	step := d.largest / math.Round(d.largest/d.step)
	for range 2 {
		step = math.Nextafter(step, 0)
	}
	for range 5 {
		g := grid{step: step}
		wrong := g.misfit(volts)
		if wrong < 0 {
			return g, -1
		}
		if wrong > far {
			best, far = g, wrong
		}
		step = math.Nextafter(step, math.Inf(1))
	}
	return best, far
}

// append writes values that lie on the grid.
func (g grid) append(dst []byte, volts []float64) []byte {
	how := byte(voltsSteps)
	if g.decimal {
		how = voltsDecimal
	}
	dst = binary.LittleEndian.AppendUint64(append(dst, how), math.Float64bits(g.step))
	w := newBitWriter(dst, len(volts)+len(volts)/chunk+1)
	var c intCoder
	var buf [chunk]int64
	for len(volts) > 0 {
		n := min(len(volts), chunk)
		for i, v := range volts[:n] {
			buf[i], _ = g.number(v)
		}
		c.append(&w, buf[:n])
		volts = volts[n:]
	}
	return w.end()
}

// readGrid is the inverse of append: n values into dst's storage.
func readGrid(r *reader, dst []float64, n int, how byte) ([]float64, error) {
	p := r.take(8)
	if p == nil || n > len(r.p)*chunk {
		return dst, broken(fmt.Sprintf("%d steps", n), fmt.Sprintf("%d bytes", len(r.p)))
	}
	g := grid{math.Float64frombits(binary.LittleEndian.Uint64(p)), how == voltsDecimal}
	if !(g.step > 0) || math.IsInf(g.step, 0) {
		return dst, broken("a step above 0", g.step)
	}
	dst = slices.Grow(dst[:0], n)[:n]
	var c intCoder
	var buf [chunk]int64
	b := bitReader{p: r.p}
	for rest := dst; len(rest) > 0; {
		part := buf[:min(len(rest), chunk)]
		if !c.read(&b, part) {
			return dst, broken("whole numbers", "another code")
		}
		if g.decimal {
			for i, x := range part {
				rest[i] = float64(x) / g.step
			}
		} else {
			for i, x := range part {
				rest[i] = float64(x) * g.step
			}
		}
		rest = rest[len(part):]
	}
	if r.take(b.used()); r.bad {
		return dst, broken(fmt.Sprintf("%d steps", n), "fewer")
	}
	return dst, nil
}
