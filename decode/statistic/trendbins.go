package statistic

// trendBinCount is the number of time bins; a trend needs no more.
const trendBinCount = 64

// TrendBins gathers values over time in 64 bins, whatever the length: when time runs out of
// the last bin, neighbours are put together and bins become twice as wide. Sums
// are whole numbers, so that any order and any merging gives the same. Make it with
// [NewTrendBins]. Sums hold 9e18: 9e12 values of a million each.
type TrendBins struct {
	width int64
	n     [trendBinCount]int64
	sum   [trendBinCount]int64
}

// NewTrendBins starts with bins of the width, in units of time; at least 1.
func NewTrendBins(width int64) TrendBins { return TrendBins{width: max(1, width)} }

// Add counts a value at an instant from 0 on; negative instants are left out.
func (b *TrendBins) Add(at, value int64) {
	if at < 0 || b.width == 0 {
		return
	}
	for at/b.width >= trendBinCount {
		b.fold()
	}
	i := at / b.width
	b.n[i]++
	b.sum[i] += value
}

func (b *TrendBins) fold() {
	for i := range trendBinCount / 2 {
		b.n[i] = b.n[2*i] + b.n[2*i+1]
		b.sum[i] = b.sum[2*i] + b.sum[2*i+1]
	}
	clear(b.n[trendBinCount/2:])
	clear(b.sum[trendBinCount/2:])
	b.width *= 2
}

// Plus returns the bins of both; they must have started with the same width.
func (b TrendBins) Plus(o TrendBins) TrendBins {
	for b.width < o.width {
		b.fold()
	}
	for o.width < b.width {
		o.fold()
	}
	for i := range b.n {
		b.n[i] += o.n[i]
		b.sum[i] += o.sum[i]
	}
	return b
}

// Width returns how wide a bin has become.
func (b TrendBins) Width() int64 { return b.width }

// Means returns the middle of each filled bin in units of time, its mean value and its number of values.
func (b TrendBins) Means() (at, mean []float64, n []int) {
	for i, c := range b.n {
		if c > 0 {
			at = append(at, (float64(i)+0.5)*float64(b.width))
			mean = append(mean, float64(b.sum[i])/float64(c))
			n = append(n, int(c))
		}
	}
	return at, mean, n
}

// Trend is [MannKendallAt] over the means of the filled bins.
func (b TrendBins) Trend(confidence float64) Trend {
	at, mean, _ := b.Means()
	return MannKendallAt(at, mean, confidence)
}
