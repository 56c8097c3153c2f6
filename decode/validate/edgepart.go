package validate

import (
	"math"

	"linewitness/capture"
)

// edgePart is what one edge is measured on. Instants are ticks from the transition.
type edgePart struct {
	at    []capture.Tick
	volts []float64
	when  capture.Tick // the transition
	first int          // sample after it
	still float64      // from when on the edge before no longer counts
	a, b  float64      // V: settled before and after
}

func (p *edgePart) t(i int) float64 { return float64(p.at[i] - p.when) }

// shape measures with rough end values first, to know where the line has settled, then with those found close by, so
// that ripple and dips do not count. The time constant of an exponential does not depend on A: what is left to go from
// any value on is in proportion.
func (p *edgePart) shape(e *measured) bool {
	n, last := p.first, len(p.at)-1
	e.space = (p.t(last) - p.t(n)) / float64(last-n)
	p.a = meanVolts(p.volts[n/2 : n-n/4])
	p.b = meanVolts(p.volts[len(p.at)-max(2, (len(p.at)-n)/4):])
	cross, mid := p.middle()
	rough := p.fall(cross, mid)
	if !(p.t(last)-mid >= edgeRoom*rough) { // no room, or no figure
		return false
	}
	scale := max(rough, e.space)
	settled, foot := mid+edgeRoom*scale, mid-(leadTaus+1)*scale
	if b := p.mean(settled, settled+edgeRoom*scale); b == b {
		p.b = b
	}
	a := p.mean(max(foot-edgeRoom*scale, p.still), foot)
	if a == a {
		p.a = a
	}
	cross, mid = p.middle()
	post := p.after(cross, mid, settled)
	e.tau = max(2*post, 0)
	if a == a && e.tau >= 1.5*e.space {
		e.shape = p.ahead(cross, mid, foot) / post
	}
	return e.tau == e.tau && !math.IsInf(e.tau, 0)
}

// middle is the sample after the crossing of the middle that is nearest to the transition, and its instant.
func (p *edgePart) middle() (int, float64) {
	half := (p.a + p.b) / 2
	up := p.b > p.a
	i := p.first
	for i > 0 && (p.volts[i-1] > half) == up {
		i--
	}
	for i < len(p.volts) && (p.volts[i] > half) != up {
		i++
	}
	if i == 0 || i == len(p.volts) {
		return p.first, math.NaN()
	}
	part := (half - p.volts[i-1]) / (p.volts[i] - p.volts[i-1])
	return i, p.t(i-1) + part*(p.t(i)-p.t(i-1))
}

// left is the part of the way from A to B that a sample has still to go.
func (p *edgePart) left(i int) float64 { return (p.b - p.volts[i]) / (p.b - p.a) }

// fall is how long after the middle no more than 1/e of what was left then is left, to the next sample.
func (p *edgePart) fall(cross int, mid float64) float64 {
	for i := cross; i < len(p.at); i++ {
		if p.left(i) <= 0.5/math.E {
			return p.t(i) - mid
		}
	}
	return math.NaN()
}

// after is the area under (B-v)/(B-A) from the middle to an instant, by trapezoids.
func (p *edgePart) after(cross int, mid, end float64) float64 {
	area, t, y := 0.0, mid, 0.5
	for i := cross; i < len(p.at) && p.t(i) <= end; i++ {
		nt, ny := p.t(i), p.left(i)
		area += (nt - t) * (y + ny) / 2
		t, y = nt, ny
	}
	return area
}

// ahead is the area under (v-A)/(B-A) from an instant to the middle.
func (p *edgePart) ahead(cross int, mid, begin float64) float64 {
	area, t, y := 0.0, mid, 0.5
	for i := cross - 1; i >= 0 && p.t(i) >= begin; i-- {
		nt, ny := p.t(i), 1-p.left(i)
		area += (t - nt) * (y + ny) / 2
		t, y = nt, ny
	}
	return area
}

// mean is the mean of the samples from one instant to another, NaN where there are fewer than two.
func (p *edgePart) mean(from, to float64) float64 {
	n, sum := 0, 0.0
	for i := len(p.at) - 1; i >= 0 && p.t(i) > from; i-- {
		if p.t(i) <= to {
			sum += p.volts[i]
			n++
		}
	}
	if n < 2 {
		return math.NaN()
	}
	return sum / float64(n)
}

func meanVolts(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x
	}
	return sum / float64(len(v))
}
