package statistic

import "math"

// risingRootBetween halves between two ends to the last digit.
func risingRootBetween(lo, hi float64, f func(float64) float64) float64 {
	for range 200 {
		mid := lo + (hi-lo)/2
		if mid <= lo || mid >= hi {
			break
		}
		if f(mid) < 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo + (hi-lo)/2
}

// firstTrue returns the smallest k in lo..hi-1 where yes(k) holds, hi if none does;
// yes must not go back to false.
func firstTrue(lo, hi int, yes func(int) bool) int {
	for lo < hi {
		mid := lo + (hi-lo)/2
		if yes(mid) {
			hi = mid
		} else {
			lo = mid + 1
		}
	}
	return lo
}

// positiveRoot finds x in 0..hi where a rising ratio is 1, by Newton steps in the logarithms of
// both kept inside a bracket; slope is that of log ratio over log x.
func positiveRoot(hi, start float64, f func(x float64) (ratio, slope float64)) float64 {
	lo, x := 0.0, math.Min(start, hi)
	for range 400 {
		ratio, slope := f(x)
		if ratio == 1 {
			return x
		}
		if ratio < 1 {
			lo = x
		} else {
			hi = x
		}
		next := x * math.Exp(-math.Log(ratio)/slope)
		if !(next > lo && next < hi) {
			next = middle(lo, hi)
		}
		if math.Abs(next-x) <= 2e-16*x || next == lo || next == hi {
			return next
		}
		x = next
	}
	return x
}

// middle halves in the logarithm while both ends are far from each other.
func middle(lo, hi float64) float64 {
	switch {
	case lo == 0:
		return hi / 16
	case hi > 4*lo:
		return math.Sqrt(lo) * math.Sqrt(hi)
	}
	return lo + (hi-lo)/2
}
