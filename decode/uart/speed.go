package uart

import "math"

// standard are the usual speeds in Bd.
var standard = [...]float64{300, 600, 1200, 1800, 2400, 4800, 7200, 9600, 14400, 19200, 28800, 38400, 57600, 76800, 115200}

// StandardSpeed is the usual speed within 3 % of a measured one, else the measured one to four digits.
func StandardSpeed(measured float64) float64 {
	for _, s := range standard {
		if math.Abs(measured/s-1) <= 0.03 {
			return s
		}
	}
	if measured <= 0 || math.IsInf(measured, 0) || math.IsNaN(measured) {
		return measured
	}
	scale := math.Pow(10, math.Floor(math.Log10(measured))-3)
	return math.Round(measured/scale) * scale
}
