package plots

import (
	"math"
	"strconv"
	"strings"

	"linewitness/capture"
)

const notMeasured = "not measured"

// number prints v with four significant digits and without an exponent where that is readable.
func number(v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return notMeasured
	}
	size := math.Abs(v)
	switch {
	case size == 0:
		return "0"
	case size >= 1e9 || size < 1e-4:
		return strconv.FormatFloat(v, 'g', 4, 64)
	case size >= 1000:
		return strconv.FormatFloat(v, 'f', 0, 64)
	}
	decimals := 3 - int(math.Floor(math.Log10(size)))
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}

// withUnit is number with its unit; what was not measured has none.
func withUnit(v float64, unit string) string {
	s := number(v)
	if s == notMeasured || unit == "" {
		return s
	}
	return s + " " + unit
}

// interval prints an interval, or that it is not known.
func interval(low, high float64, unit string) string {
	if math.IsNaN(low) || math.IsNaN(high) {
		return notMeasured
	}
	return strings.TrimSpace(number(low) + " to " + number(high) + " " + unit)
}

// share prints a probability as a percentage. Nothing is ever certain.
func share(p float64) string {
	switch {
	case math.IsNaN(p):
		return notMeasured
	case p >= 0.995:
		return "over 99 %"
	case p < 0.005:
		return "under 1 %"
	}
	return strconv.FormatFloat(p*100, 'f', 0, 64) + " %"
}

// seconds prints an instant on the file's own axis to the microsecond.
func seconds(c capture.Clock, t capture.Tick) string {
	if !c.Valid() {
		return notMeasured
	}
	return strconv.FormatFloat(c.Seconds(t), 'f', 6, 64)
}
