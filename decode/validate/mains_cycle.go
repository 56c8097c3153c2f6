package validate

import "math"

// crestCycle is the average cycle of a state with mean and fundamental already explained.
type crestCycle struct {
	w, v, cos, sin, place [mainsPhases]float64 // v: weighted volts that mean and fundamental leave; place: cycles
	inv                   [3][3]float64        // inverse of the normal equations of [1, cos, sin]
	left                  float64              // weighted squares left by mean and fundamental
}

func newCrestCycle(c *mainsCells, one *mainsFit, angles *mainsAngles) *crestCycle {
	y := &crestCycle{left: one.ss1}
	var a [3][3]float64
	for k := range c.cell {
		cell := &c.cell[k]
		if cell.w == 0 {
			continue
		}
		y.w[k], y.place[k] = cell.w, (float64(k)+0.5+cell.off/cell.w)/mainsPhases
		y.cos[k], y.sin[k] = angles.at(k, cell.off/cell.w)
		y.v[k] = cell.v - cell.w*(one.c[0]+one.c[1]*y.cos[k]+one.c[2]*y.sin[k])
		x := [3]float64{1, y.cos[k], y.sin[k]}
		for i := range x {
			for j := range x {
				a[i][j] += cell.w * x[i] * x[j]
			}
		}
	}
	det := 0.
	for i := range 3 {
		for j := range 3 {
			// The cofactor by cyclic indices carries its own sign; the matrix is symmetric.
			y.inv[i][j] = a[(i+1)%3][(j+1)%3]*a[(i+2)%3][(j+2)%3] - a[(i+1)%3][(j+2)%3]*a[(i+2)%3][(j+1)%3]
		}
		det += a[0][i] * y.inv[0][i]
	}
	for i := range y.inv {
		for j := range y.inv[i] {
			y.inv[i][j] /= det
		}
	}
	return y
}

// fit is what [1, cos, sin, wave] leaves of the cycle in weighted squares, and the wave's height.
func (y *crestCycle) fit(wave *[mainsPhases]float64) (left, height float64) {
	var s [3]float64
	var own, with float64
	for k, x := range wave {
		wx := y.w[k] * x
		s[0] += wx
		s[1] += wx * y.cos[k]
		s[2] += wx * y.sin[k]
		own += wx * x
		with += y.v[k] * x
	}
	free := own
	for i := range s {
		free -= s[i] * (y.inv[i][0]*s[0] + y.inv[i][1]*s[1] + y.inv[i][2]*s[2])
	}
	if !(free > 1e-9*own) {
		return math.Inf(1), 0
	}
	return y.left - with*with/free, with / free
}
