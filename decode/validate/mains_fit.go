package validate

import "math"

const (
	mainsPhases    = 64 // cells of one cycle
	mainsTones     = 7  // harmonics fitted to the average, the fundamental among them
	mainsTerms     = 2*mainsTones + 1
	mainsFewest    = 20   // bins of a state below which a window says nothing of it
	mainsLeastSeen = 0.02 // pivot of the normal equations below which phases are too one-sided
)

// mainsCell sums the bins of one state that fall into a 64th of a cycle.
type mainsCell struct {
	w, v, vv float64 // weight (samples), weighted sum of volts and of their squares
	off      float64 // weighted sum of the place in the cell, -0.5..0.5
}

// mainsCells is one cycle of a state. base is taken off the volts.
type mainsCells struct {
	cell [mainsPhases]mainsCell
	n    int64
	base float64
}

func (c *mainsCells) reset(base float64) { *c = mainsCells{base: base} }

// add puts a bin at a phase in cycles; v is what it lies above the base, w its weight.
func (c *mainsCells) add(phase, v, w float64) {
	place := phase * mainsPhases
	k := int64(place)
	if place < float64(k) {
		k-- // negative ones were rounded up
	}
	cell := &c.cell[k&(mainsPhases-1)]
	wv := w * v
	cell.w += w
	cell.v += wv
	cell.vv += wv * v
	cell.off += w * (place - float64(k) - 0.5)
	c.n++
}

// join adds the cells of a window, less the mean that was fitted to it.
func (c *mainsCells) join(o *mainsCells, mean float64) {
	for k := range c.cell {
		a, b := &c.cell[k], &o.cell[k]
		a.w += b.w
		a.v += b.v - mean*b.w
		a.vv += b.vv - 2*mean*b.v + mean*mean*b.w
		a.off += b.off
	}
	c.n += o.n
}

// mainsAngles are cosine and sine of the cells' middles.
type mainsAngles [mainsPhases][2]float64

func newMainsAngles() (a mainsAngles) {
	for k := range a {
		a[k][1], a[k][0] = math.Sincos(2 * math.Pi * (float64(k) + 0.5) / mainsPhases)
	}
	return a
}

// at is cosine and sine of a place off the middle of cell k; the series is good to 1e-7 at the cell's edge.
func (a *mainsAngles) at(k int, off float64) (c, s float64) {
	d := off * (2 * math.Pi / mainsPhases)
	dc, ds := 1-d*d/2, d-d*d*d/6
	return a[k][0]*dc - a[k][1]*ds, a[k][1]*dc + a[k][0]*ds
}

// mainsFit is a weighted least squares fit of [1, cos, sin, cos 2, sin 2, ...] to the cells of a state.
type mainsFit struct {
	ok       bool
	n        int64
	w        float64
	c        [mainsTerms]float64 // coefficients, V
	inv      [mainsTerms]float64 // diagonal of the inverse of the normal equations
	ss0, ss1 float64             // weighted squares about the mean, and about the fit
	noise    float64             // variance of one sample's worth of a bin, V^2
}

// fit fits the mean and so many harmonics.
func (c *mainsCells) fit(harmonics int, angles *mainsAngles) (f mainsFit) {
	n := 2*harmonics + 1
	if c.n < mainsFewest || c.n <= int64(n) {
		return f
	}
	var a [mainsTerms][mainsTerms]float64
	var b, x [mainsTerms]float64
	var vv float64
	for k := range c.cell {
		cell := &c.cell[k]
		if cell.w == 0 {
			continue
		}
		x[0] = 1
		cs, sn := angles.at(k, cell.off/cell.w)
		x[1], x[2] = cs, sn
		for i := 3; i < n; i += 2 {
			x[i], x[i+1] = x[i-2]*cs-x[i-1]*sn, x[i-1]*cs+x[i-2]*sn
		}
		for i := range n {
			wx := cell.w * x[i]
			b[i] += cell.v * x[i]
			for j := 0; j <= i; j++ {
				a[i][j] += wx * x[j]
			}
		}
		vv += cell.vv
	}
	f.n, f.w = c.n, a[0][0]
	f.solve(&a, &b, n, vv)
	return f
}

// solve ends a fit from its normal equations (lower triangle) and the sum of squares.
func (f *mainsFit) solve(a *[mainsTerms][mainsTerms]float64, b *[mainsTerms]float64, n int, vv float64) {
	f.ss0 = max(vv-b[0]*b[0]/f.w, 0)
	f.c = *b
	if !mainsSolve(a, &f.c, &f.inv, n, mainsLeastSeen*f.w) {
		return
	}
	f.ss1 = vv
	for i := range n {
		f.ss1 -= f.c[i] * b[i]
	}
	// What rounding leaves of an exact fit is no noise, yet nothing may be divided by 0.
	f.ss1 = max(f.ss1, 1e-13*vv, 1e-24*f.w)
	f.ss0 = max(f.ss0, f.ss1)
	f.noise = f.ss1 / float64(f.n-int64(n))
	f.ok = true
}

// mainsSolve solves a x = b in place for a symmetric matrix given by its lower triangle (Cholesky), and gives the diagonal
// of the inverse; false where a pivot is under least.
func mainsSolve(a *[mainsTerms][mainsTerms]float64, b, inv *[mainsTerms]float64, n int, least float64) bool {
	for i := range n {
		for j := 0; j <= i; j++ {
			s := a[i][j]
			for k := range j {
				s -= a[i][k] * a[j][k]
			}
			if i != j {
				a[i][j] = s / a[j][j]
				continue
			}
			if !(s > least) {
				return false
			}
			a[i][i] = math.Sqrt(s)
		}
	}
	var l [mainsTerms][mainsTerms]float64 // inverse of the triangle
	for j := range n {
		l[j][j] = 1 / a[j][j]
		for i := j + 1; i < n; i++ {
			var s float64
			for k := j; k < i; k++ {
				s -= a[i][k] * l[k][j]
			}
			l[i][j] = s / a[i][i]
		}
	}
	var y, x [mainsTerms]float64
	for i := range n {
		for k := 0; k <= i; k++ {
			y[i] += l[i][k] * b[k]
		}
	}
	for j := range n {
		inv[j] = 0
		for i := j; i < n; i++ {
			x[j] += l[i][j] * y[i]
			inv[j] += l[i][j] * l[i][j]
		}
	}
	*b = x
	return true
}

// tone is the coefficient of harmonic k as cosine and sine part.
func (f *mainsFit) tone(k int) (c, s float64) { return f.c[2*k-1], f.c[2*k] }
