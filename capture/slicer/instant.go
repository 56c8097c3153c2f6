package slicer

import (
	"math"

	"linewitness/capture"
)

// instant is when the signal passed the midpoint between the present level and to, between the samples start and k, and
// the half width of the interval that holds the true instant; last is the sample before the passage.
func (t *tracker) instant(start, k, to int) (at, doubt capture.Tick, last int) {
	from, goal := t.lv.v[t.c], t.lv.v[to]
	half := (from + goal) / 2
	up := goal > from
	first := start // the last sample before the first passage
	for first < k-1 && beyond(t.x[first], half, up) {
		first++
	}
	for first < k-1 && !beyond(t.x[first+1], half, up) {
		first++
	}
	last = k - 1 // the last sample before the last passage
	for last > first && beyond(t.x[last], half, up) {
		last--
	}
	if first < 0 || k == 0 {
		return t.at[k], 0, k
	}
	a, da := t.cross(first, half, from, goal, k-start)
	if dark := t.darkBefore(first); dark > 0 { // anywhere in it
		return t.at[first+1] - dark/2, ceil(float64(dark) / 2), last
	}
	if last == first {
		at, doubt = t.ticks(first, a, da)
		return at, doubt, last
	}
	// Noise makes it pass more than once: the middle of the first and the last time.
	z, dz := t.cross(last, half, from, goal, k-start)
	base := float64(t.at[last] - t.at[first])
	at, doubt = t.ticks(first, (a+z+base)/2, (z+base-a)/2+max(da, dz))
	return at, doubt, last
}

// darkBefore is how long a half-wave supply had been dark at sample i; 0: it was not, or the supply is another one.
func (t *tracker) darkBefore(i int) capture.Tick {
	wave := &t.undo.wave
	if wave.rate == 0 {
		return 0
	}
	n := 0
	for i-n-1 >= 0 && t.x[i-n-1] == t.x[i] {
		n++
	}
	if float64(n)*wave.rate < wave.dark()/2 {
		return 0
	}
	return min(t.at[i+1]-t.at[i-n], round(t.spacing*wave.dark()/wave.rate))
}

func beyond(x, half float64, up bool) bool {
	if up {
		return x > half
	}
	return x < half
}

// ticks is the sum of a sample's instant and an offset in ticks.
func (t *tracker) ticks(i int, offset, doubt float64) (capture.Tick, capture.Tick) {
	return t.at[i] + round(offset), ceil(doubt)
}

// round is math.Round for what a tick holds: half away from zero. What the whole number leaves of x is exact, and so is its double,
// of which the whole number is 1 from a half on: no branch, which chance would mislead.
func round(x float64) capture.Tick {
	n := capture.Tick(x)
	rest := x - float64(n)
	return n + capture.Tick(rest+rest)
}

// ceil is math.Ceil for what a tick holds.
func ceil(x float64) capture.Tick {
	n := capture.Tick(x)
	if float64(n) < x {
		n++
	}
	return n
}

// cross interpolates the passage of half between samples j and j+1: ticks after j, and the doubt. The doubt is the larger part of
// the interval while one end still rests on its level (the corner of the edge may lie inside); else it is bounded by the
// noise and by the curvature: three times the error of linear interpolation |x"|h^2/8 over the slope, which covers
// exponentials with a time constant down to 0.4 samples.
func (t *tracker) cross(j int, half, from, goal float64, samples int) (offset, doubt float64) {
	x := t.x
	gap := float64(t.at[j+1] - t.at[j])
	dt := gap
	if t.dt == 0 {
		dt = t.rowTime(j, gap)
	}
	tol := max(4*t.lv.noise, 0.05*math.Abs(goal-from))
	before, after := math.Abs(x[j]-from) <= tol, math.Abs(x[j+1]-goal) <= tol
	if t.dt > 0 {
		// A level that moves is not where it was thought to be: there it rests if it stands still.
		near := 0.3 * math.Abs(goal-from)
		before = before || j > 0 && math.Abs(x[j]-x[j-1]) <= tol && math.Abs(x[j]-from) <= near
		after = after || j+2 < len(x) && math.Abs(x[j+2]-x[j+1]) <= tol && math.Abs(x[j+1]-goal) <= near
	}
	if t.dt == 0 && before && after {
		return gap, 0 // the row itself is the change
	}
	step := x[j+1] - x[j]
	part := 0.5
	if step != 0 {
		part = min(max((half-x[j])/step, 0), 1)
	}
	offset = gap - dt + part*dt
	if before || after || step == 0 {
		return offset, max(part, 1-part) * dt
	}
	slope := max(math.Abs(step), hysteresis*math.Abs(goal-from)/float64(samples))
	bend := 0.0
	if j > 0 {
		bend = math.Abs(x[j+1] - 2*x[j] + x[j-1])
	}
	if j+2 < len(x) {
		bend = max(bend, math.Abs(x[j+2]-2*x[j+1]+x[j]))
	}
	return offset, min(bend/(2.5*slope)+t.lv.noise/slope, 1) * dt
}

// rowTime is how long before a row of a list of changes its value may have begun.
func (t *tracker) rowTime(j int, gap float64) float64 {
	d := min(gap, max(t.spacing, 1))
	if j+2 < len(t.at) {
		d = min(d, float64(t.at[j+2]-t.at[j+1]))
	}
	return d
}
