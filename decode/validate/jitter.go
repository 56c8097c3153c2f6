package validate

import (
	"math"

	"linewitness/capture"
	"linewitness/decode/link"
	"linewitness/decode/statistic"
)

// jitter gathers where one sender's edges stand, in bounded memory. Only frames without a broken rule count: what damage moves says
// nothing of the sender.
type jitter struct {
	gross, sync Sketch    // of each frame the degree of start-stop distortion, of the unit interval
	late, early extreme   // of all frames
	random      Sketch    // of each frame the standard deviation of an edge
	after       [2]blocks // see FrameEdges
	trend       statistic.TrendBins
	begun       bool
	first       capture.Tick
	hum         humScan
}

// extreme is the largest displacement in one direction and its instant.
type extreme struct {
	value float64
	at    capture.Tick
}

const (
	trendSeconds = 1   // width of the first bins of the trend
	trendScale   = 1e6 // bias is summed in millionths of the unit interval
	fewestDoF    = 4   // of a frame whose scatter counts
)

func newJitter(p *link.Profile, c capture.Clock) jitter {
	return jitter{trend: statistic.NewTrendBins(int64(c.Ticks(trendSeconds))), hum: newHumScan(c)}
}

// frame takes the next frame of the sender.
func (j *jitter) frame(r *link.Frame, q *Quality) {
	if !j.begun {
		j.begun, j.first = true, r.At
	}
	slope, _ := q.Fit.Slope()
	if slope != slope {
		slope = 0
	}
	if q.Bias == q.Bias {
		j.trend.Add(int64(r.At-j.first), int64(math.Round(trendScale*(q.Bias-slope*q.Lean))))
	}
	j.hum.frame(r)
	e := &q.Edges
	if e.N == 0 {
		return
	}
	j.gross.Add(max(e.Late, -e.Early))
	j.sync.Add(e.Sync)
	if e.Late > j.late.value {
		j.late = extreme{e.Late, e.LateAt}
	}
	if e.Early < j.early.value {
		j.early = extreme{e.Early, e.EarlyAt}
	}
	for g := range e.After {
		if e.After[g].den > 0 {
			j.after[g].add(e.After[g])
		}
	}
	if e.DoF >= fewestDoF {
		// The median of a chi-squared variable is close to its mean times (1 - 2/(9 n))^3 (E. B. Wilson and M. M. Hilferty, 1931).
		m := 1 - 2/(9*e.DoF)
		j.random.Add(math.Sqrt(e.Free / (m * m * m)))
	}
}
