package validate

import (
	"math"

	"linewitness/capture"
)

// Rectifier is how a supply is recharged from the mains.
type Rectifier uint8

// The kinds. RectifierUnknown: the ripple is no sawtooth that could be told from hum.
const (
	RectifierUnknown Rectifier = iota
	HalfWave                   // once a cycle
	FullWave                   // twice a cycle
)

func (r Rectifier) String() string {
	switch r {
	case HalfWave:
		return "half-wave"
	case FullWave:
		return "full-wave"
	}
	return "unknown"
}

// MainsCrest is the instant at which a smoothed supply is recharged: the crest of the mains. Its ripple rises fast up to
// there and falls slowly after. Phase is in cycles of the tracked phase: 0..1 half-wave, 0..0.5 full-wave (the other crest
// is half a cycle later); NaN where not known.
type MainsCrest struct {
	Kind    Rectifier
	State   capture.Level // that shows it best
	Phase   float64
	Rise    float64 // share of the recharge period that the rise takes
	Ripple  float64 // V peak to peak
	Against float64 // log likelihood ratio against hum of two free tones
}

const (
	crestBetter  = 12.  // log likelihood by which a sawtooth must explain the average better than two tones
	crestExplain = 0.85 // share of what is not fundamental that it must explain
)

// crestRises are the rises tried, in cycles of the mains: conduction angles of 1 to 60 degrees; 1 is a jump.
var crestRises = [...]float64{1. / 360, 6. / 360, 12. / 360, 20. / 360, 30. / 360, 45. / 360, 60. / 360}

func noCrest() MainsCrest {
	return MainsCrest{Phase: math.NaN(), Rise: math.NaN(), Ripple: math.NaN(), Against: math.NaN()}
}

// crestShape is a sawtooth of height 1 with its crest at 0: recharged along the mains' own cosine, or along a straight line.
type crestShape struct {
	period, rise float64 // cycles
	straight     bool
	blur         float64 // cycles over which bins and cells average
}

// mean is the shape as bins and cells show it.
func (s crestShape) mean(phase float64) (v float64) {
	for i := -2.; i <= 2; i++ {
		v += s.at(phase + i/5*s.blur)
	}
	return v / 5
}

func (s crestShape) at(phase float64) float64 {
	x := phase / s.period
	x = (x - math.Floor(x)) * s.period // since the crest
	line := 1 - x/(s.period-s.rise)
	before := s.period - x
	if s.straight && before < s.rise {
		return 1 - before/s.rise
	}
	if x = min(x, before); s.straight || x >= s.rise {
		return line
	}
	// The supply follows the mains over the crest until they fall faster than it does.
	low := math.Cos(2 * math.Pi * s.rise)
	return max(line, (math.Cos(2*math.Pi*x)-low)/(1-low))
}

// crestFit is the average cycle as sawtooth and fundamental.
type crestFit struct {
	shape        crestShape
	crest        float64
	height, left float64 // V; weighted squares left
}

// crest looks for a sawtooth in the average cycle of a state. The fundamental is left free, since hum may stand in series
// with the ripple. Both kinds, several rises and all phases are tried; what explains the average clearly better than two
// free tones do, and nearly all of it, counts.
func (m *Mains) crest(c *mainsCells) MainsCrest {
	two := c.fit(2, &m.angles)
	one := c.fit(1, &m.angles)
	if !two.ok || !one.ok {
		return noCrest()
	}
	blur := math.Hypot(1./mainsPhases, m.state.hz*m.binSpan())
	y := newCrestCycle(c, &one, &m.angles)
	best := crestFit{left: math.Inf(1)}
	for _, straight := range []bool{false, true} {
		grid := crestFit{left: math.Inf(1)}
		for _, period := range []float64{0.5, 1} {
			for _, rise := range crestRises {
				if f := y.grid(crestShape{period, rise, straight, blur}); f.left < grid.left {
					grid = f
				}
			}
		}
		if f := y.refine(grid); f.left < best.left {
			best = f
		}
	}
	if math.IsInf(best.left, 1) {
		return noCrest()
	}
	// The noise is that of the bins about the cells' means.
	noise := c.scatter()
	better := (two.ss1 - best.left) / (2 * noise)
	free := noise * float64(c.n-4)
	if better < crestBetter || one.ss1-best.left < crestExplain*(one.ss1-min(free, best.left)) {
		return noCrest()
	}
	kind := HalfWave
	if best.shape.period == 0.5 {
		kind = FullWave
	}
	x := best.crest / best.shape.period
	return MainsCrest{Kind: kind, Phase: (x - math.Floor(x)) * best.shape.period, Rise: best.shape.rise / best.shape.period,
		Ripple: best.height, Against: better}
}

// scatter is the variance of a sample's worth of the bins about their cells' means.
func (c *mainsCells) scatter() float64 {
	var ss float64
	used := 0
	for k := range c.cell {
		if cell := &c.cell[k]; cell.w > 0 {
			ss += cell.vv - cell.v*cell.v/cell.w
			used++
		}
	}
	return max(ss, 1e-24) / float64(max(c.n-int64(used), 1))
}

// grid is the best crest of a shape on the grid of the cells.
func (y *crestCycle) grid(shape crestShape) crestFit {
	var wave [mainsPhases]float64
	for k := range wave {
		wave[k] = shape.mean(float64(k) / mainsPhases)
	}
	moved := wave
	best := crestFit{shape: shape, left: math.Inf(1)}
	for j := range int(shape.period * mainsPhases) {
		left, height := y.fit(&moved)
		if left < best.left && height > 0 {
			// Cell k has its middle at k + 0.5.
			best.crest, best.height, best.left = (float64(j)+0.5)/mainsPhases, height, left
		}
		copy(moved[1:], moved[:mainsPhases-1])
		moved[0] = wave[(-j-1)&(mainsPhases-1)]
	}
	return best
}

// refine moves crest and rise off the grid, by turns.
func (y *crestCycle) refine(f crestFit) crestFit {
	f.left = math.Inf(1)
	for step := 0.5 / mainsPhases; step > 1e-4; step /= 2 {
		from := f
		for j := -2; j <= 2; j++ {
			shape, crest := from.shape, from.crest+float64(j)*step
			f = y.try(f, shape, crest)
			for _, by := range [2]float64{-step, step} {
				shape.rise = max(min(from.shape.rise+by, shape.period/2), 1./720)
				f = y.try(f, shape, crest)
			}
		}
	}
	return f
}

// try is the better of a fit and another shape and crest.
func (y *crestCycle) try(f crestFit, shape crestShape, crest float64) crestFit {
	var wave [mainsPhases]float64
	for k := range wave {
		wave[k] = shape.mean(y.place[k] - crest)
	}
	left, height := y.fit(&wave)
	if left < f.left && height > 0 {
		return crestFit{shape, crest, height, left}
	}
	return f
}
