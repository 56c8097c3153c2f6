package link

import "math"

const (
	kelvin = 273.15
	room   = 298.15 // K, at which R25 holds
)

// DegC is the temperature of the divider's number; NaN where the curve has none: at 0 and at Full the sensor is open or
// shorted, beyond a table's ends nothing is known.
func (t *Thermistor) DegC(number float64) float64 {
	share := number / t.Full
	if !(share > 0 && share < 1) {
		return math.NaN()
	}
	ohm := t.Pull * share / (1 - share)
	if t.PullDown {
		ohm = t.Pull * (1 - share) / share
	}
	return t.temperature(ohm)
}

// number is the inverse, not rounded; NaN where there is none.
func (t *Thermistor) number(degC float64) float64 {
	ohm := t.Resistance(degC)
	if t.PullDown {
		return t.Full * t.Pull / (ohm + t.Pull)
	}
	return t.Full * ohm / (ohm + t.Pull)
}

// temperature of a resistance: 1/T = 1/298.15 K + ln(R/R25)/Beta, or the table's straight piece in ln R over 1/T.
func (t *Thermistor) temperature(ohm float64) float64 {
	x := math.Log(ohm)
	inverse := math.NaN()
	if len(t.Points) == 0 {
		inverse = 1/room + (x-math.Log(t.R25))/t.Beta
	}
	for i := 1; i < len(t.Points); i++ {
		a, b := t.Points[i-1], t.Points[i]
		from, to := math.Log(a.Ohm), math.Log(b.Ohm)
		if share := (x - from) / (to - from); share >= 0 && share <= 1 {
			ia, ib := 1/(a.DegC+kelvin), 1/(b.DegC+kelvin)
			inverse = ia + share*(ib-ia)
			break
		}
	}
	if degC := 1/inverse - kelvin; inverse > 0 && !math.IsInf(degC, 0) {
		return degC
	}
	return math.NaN()
}

// Resistance in ohm at a temperature: R25 exp(Beta (1/T - 1/298.15 K)), or the table's straight piece in ln R over 1/T; NaN
// beyond the table and at absolute zero.
func (t *Thermistor) Resistance(degC float64) float64 {
	inverse := 1 / (degC + kelvin)
	if !(inverse > 0) {
		return math.NaN()
	}
	if len(t.Points) == 0 {
		return t.R25 * math.Exp(t.Beta*(inverse-1/room))
	}
	for i := 1; i < len(t.Points); i++ {
		a, b := t.Points[i-1], t.Points[i]
		if degC < a.DegC || degC > b.DegC {
			continue
		}
		ia, ib := 1/(a.DegC+kelvin), 1/(b.DegC+kelvin)
		from, to := math.Log(a.Ohm), math.Log(b.Ohm)
		return math.Exp(from + (to-from)*(inverse-ia)/(ib-ia))
	}
	return math.NaN()
}
