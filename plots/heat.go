package plots

import (
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg/draw"

	"linewitness/decode/tally"
	"linewitness/decode/verdict"
)

// heat are volts over time, as dark as they are frequent. A sample stands until the next one.
func heat(e *tally.VoltEye, v *verdict.Volts) strip {
	first, _, _ := e.Row(0)
	_, last, _ := e.Row(e.Rows() - 1)
	st := strip{share: eyeShare}
	for _, at := range round(first, last, 5) {
		st.ticks = append(st.ticks, plot.Tick{Value: (at - first) / (last - first), Label: numberOf(at, v)})
	}
	most := int64(1)
	for i := range e.Rows() {
		_, _, row := e.Row(i)
		for _, n := range row {
			most = max(most, n)
		}
	}
	stands := 1
	if v != nil && v.SamplesABit < tally.EyeSteps {
		stands = min(int(math.Ceil(tally.EyeSteps/v.SamplesABit)), tally.EyeSteps)
	}
	st.picture = func(c draw.Canvas, x, y placeY) {
		for i := range e.Rows() {
			bottom, top, row := e.Row(i)
			count := func(column int) float64 {
				n := int64(0)
				for k := range stands {
					n = max(n, row[(column-k+tally.EyeColumns)%tally.EyeColumns])
				}
				return darkness(n, most)
			}
			runs(count, func(from, to, dark float64) {
				fillBox(c, shade(dark), x(from), x(to), y((bottom-first)/(last-first)), y((top-first)/(last-first)))
			})
		}
	}
	return st
}
