package plots

import (
	"math"
	"strconv"

	"gonum.org/v1/plot"
)

// linear scales counts to 0..1, with guides at a round number and its half.
func linear(most float64) (func(float64) float64, []float64) {
	if most <= 0 {
		return func(float64) float64 { return 0 }, nil
	}
	step := math.Pow(10, math.Floor(math.Log10(most)))
	top := step
	for _, m := range []float64{1, 2, 5, 10} {
		if top = m * step; top >= most {
			break
		}
	}
	return func(v float64) float64 { return v / top }, []float64{top / 2, top}
}

// logarithmic scales counts to 0..1 by decades, with guides at up to four powers of ten. One stands well above nothing.
func logarithmic(most float64) (func(float64) float64, []float64) {
	const foot = 0.4
	if most <= 0 {
		return func(float64) float64 { return 0 }, nil
	}
	top := math.Ceil(math.Max(math.Log10(most), 1))
	var guides []float64
	for k := 0.; k <= top; k += math.Ceil((top + 1) / 4) {
		guides = append(guides, math.Pow(10, k))
	}
	return func(v float64) float64 {
		if v <= 0 {
			return 0
		}
		return (math.Log10(v) + foot) / (top + foot)
	}, guides
}

// quarters places a tick at each quarter.
func quarters(low, high float64) (all []plot.Tick) {
	for v := math.Ceil(low * 4); v <= high*4; v++ {
		all = append(all, plot.Tick{Value: v / 4, Label: number(v / 4)})
	}
	return all
}

// wholes places a tick at each whole number.
func wholes(low, high float64) (all []plot.Tick) {
	for v := math.Ceil(low); v <= high; v++ {
		all = append(all, plot.Tick{Value: v, Label: number(v)})
	}
	return all
}

// sixths places a tick at each 60 degrees.
func sixths(low, high float64) (all []plot.Tick) {
	for v := low; v <= high; v += 60 {
		all = append(all, plot.Tick{Value: v, Label: number(v)})
	}
	return all
}

// decades places ticks at 1, 2 and 5 of each decade of an axis of logarithms.
func decades(low, high float64) (all []plot.Tick) {
	for k := math.Floor(low); k <= high; k++ {
		for _, m := range []float64{1, 2, 5} {
			if at := k + math.Log10(m); at >= low && at <= high && (high-low < 4 || m == 1) {
				all = append(all, plot.Tick{Value: at, Label: strconv.FormatFloat(m*math.Pow(10, k), 'g', 4, 64)})
			}
		}
	}
	return all
}

// round are round numbers from low to high, most steps of them at the most.
func round(low, high, most float64) (all []float64) {
	step := math.Pow(10, math.Floor(math.Log10((high-low)/most)))
	for _, m := range []float64{1, 2, 5, 10} {
		if (high-low)/(m*step) <= most {
			step *= m
			break
		}
	}
	for v := math.Ceil(low/step) * step; v <= high; v += step {
		all = append(all, v+0) // no minus zero
	}
	return all
}
