package slicer

import "math"

// restorer undoes an AC coupling of one pole: what it took is the mean of what it passed.
type restorer struct {
	rate float64 // 1/s of the pole; 0: none
	step float64 // part that a sample adds
	leak float64 // part that is forgotten a sample
	x, v float64
	held bool
}

// slowLeak is the time in which the restored zero is forgotten, s: errors do not add up for ever.
const slowLeak = 2.0

func newRestorer(rate, dt float64) restorer {
	return restorer{rate: rate, step: rate * dt, leak: min(dt/slowLeak, 0.1)}
}

// restore appends the restored samples to dst.
func (r *restorer) restore(v, dst []float64) []float64 {
	for _, y := range v {
		if !r.held {
			r.x, r.held = y, true
		} else {
			r.x += (y - r.v) + (y+r.v)/2*r.step - r.x*r.leak
		}
		r.v = y
		dst = append(dst, r.x)
	}
	return dst
}

// couplingRate looks for plateaus that run to zero at a rate in proportion to their height, 1/s; 0: they stand.
func couplingRate(w []window, spread, noise float64, edge, pulse int, dt float64) float64 {
	if dt == 0 || spread <= 0 {
		return 0
	}
	var d decay
	lag := max(1, pulse/4)
	for i := range w {
		d.add(w[i].v, max(0.1*spread, 6*noise), edge, lag)
	}
	d.xx -= d.pairs * noise * noise
	if d.pairs < 100 || d.xx <= 0 || math.Abs(d.sum/d.n) > 0.1*spread {
		return 0
	}
	part := d.xy / d.xx
	rate := -math.Log(min(max(part, 1e-9), 1)) / (float64(lag) * dt)
	// The decay must stand out of the noise of its estimate, and be that of an input: 2 to 150 ms.
	if (1-part)*math.Sqrt(d.xx) < 8*math.Sqrt(2)*noise || rate < 1/0.15 || rate > 1/2e-3 {
		return 0
	}
	return rate
}

// decay sums how plateaus go on: y after a lag against x.
type decay struct{ xx, xy, pairs, sum, n float64 }

// add takes pairs of samples that lie clear of jumps, which are changes by more than step over edge samples.
func (d *decay) add(v []float64, step float64, edge, lag int) {
	still := 0 // samples since the last jump
	for j := edge; j < len(v); j++ {
		d.sum += v[j]
		d.n++
		if math.Abs(v[j]-v[j-edge]) > step {
			still = 0
			continue
		}
		if still++; still > 2*edge+lag {
			x, y := v[j-edge-lag], v[j-edge]
			d.xx, d.xy = d.xx+x*x, d.xy+x*y
			d.pairs++
		}
	}
}
