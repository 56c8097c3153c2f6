package statistic

import "math"

// A PeakScan describes over what the largest power of a periodogram was searched.
type PeakScan struct {
	N         int     // values
	Variance  float64 // of their instants, mean squared distance from the mean instant
	Bandwidth float64 // highest less lowest frequency scanned
}

// PeakScanOf describes the scan of values at the instants t over frequencies lowest..highest.
func PeakScanOf(t []float64, lowest, highest float64) PeakScan {
	n, mean := float64(len(t)), sumOf(t)/float64(len(t))
	sum := 0.0
	for _, v := range t {
		sum += (v - mean) * (v - mean)
	}
	return PeakScan{len(t), sum / n, math.Max(0, highest-lowest)}
}

// FalseAlarm is the probability of a peak at least this high in noise alone.
type FalseAlarm struct {
	Single      float64 // at one frequency given beforehand
	Bound       float64 // anywhere in the scan: an upper bound (R. B. Davies, 1977 and 1987)
	Largest     float64 // anywhere: the close approximation of R. V. Baluev, 2008
	Independent float64 // number of independent frequencies that gives Largest from Single
}

// cycles is Baluev's W: the bandwidth times the effective length of the series.
func (s PeakScan) cycles() float64 { return s.Bandwidth * math.Sqrt(4*math.Pi*s.Variance) }

// Power returns the false-alarm probabilities of a standard power 0..1 as
// [LombScargle] gives it, in white Gaussian noise of unknown mean and variance.
// NaN below 4 values. Vector false_alarm_level_single.
func (s PeakScan) Power(power float64) FalseAlarm {
	if !(power >= 0 && power <= 1) || s.N < 4 || !(s.cycles() >= 0) {
		return FalseAlarm{math.NaN(), math.NaN(), math.NaN(), math.NaN()}
	}
	free := float64(s.N - 3)
	single := math.Pow(1-power, free/2)
	h := float64(s.N - 1)
	scale := math.Sqrt(2/h) * math.Exp(lgamma(h/2)-lgamma((h-1)/2))
	tau := scale * s.cycles() * math.Pow(1-power, (free-1)/2) * math.Sqrt(h*power/2)
	return falseAlarm(single, tau)
}

// Rayleigh returns the false-alarm probabilities of Rayleigh's z where N events were
// scanned over frequencies for a preferred phase; z as [Resultant.Rayleigh] gives it.
// It is Baluev's law for known variance, so it wants some 20 events or more.
func (s PeakScan) Rayleigh(z float64) FalseAlarm {
	if !(z >= 0) || s.N < 1 || !(s.cycles() >= 0) {
		return FalseAlarm{math.NaN(), math.NaN(), math.NaN(), math.NaN()}
	}
	return falseAlarm(math.Exp(-z), s.cycles()*math.Exp(-z)*math.Sqrt(z))
}

// falseAlarm puts both parts together; tau is the expected number of upward crossings.
func falseAlarm(single, tau float64) FalseAlarm {
	if single == 0 {
		return FalseAlarm{0, 0, 0, math.NaN()}
	}
	largest := single
	if single < 1 {
		largest = clamp01(-math.Expm1(math.Log1p(-single) - tau))
	}
	f := FalseAlarm{single, clamp01(single + tau), largest, math.NaN()}
	if single < 1 {
		f.Independent = 1 - tau/math.Log1p(-single)
	}
	return f
}
