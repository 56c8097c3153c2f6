package check

import (
	"math"

	"linewitness/decode/circuit"
)

// Figures of a meter are compared on this scale: linear under a volt (an ohm), logarithmic above.
func scaled(x float64) float64 { return math.Asinh(x) }

// How well a figure is foretold by a line whose parts are known: some per cent, and some tenths of a volt (an ohm).
const (
	figurePart = 0.08
	figureUnit = 0.3
	endsPart   = 0.3 // the ends of what swings, as somebody reads them
)

// flatDensity is that of a figure of which nothing is known, on the scale.
var (
	flatVolts = 1 / (2 * scaled(mostVolts))
	flatOhms  = (1 - overRange) / scaled(mostOhms)
)

// overRange is how likely a misread resistance is said to be over range.
const overRange = 0.3

// steadily is how likely a figure is said to swing or not, as it does.
const steadily = 0.95

// width is the standard deviation of a figure about x, on the scale.
func width(x, part float64) float64 { return math.Hypot(part, figureUnit/math.Hypot(1, x)) }

func normal(off, sd float64) float64 {
	off /= sd
	return math.Exp(-off*off/2) / (sd * math.Sqrt(2*math.Pi))
}

// inRange is the density of a figure x where a meter moves over r.
func inRange(x float64, r circuit.Range) float64 {
	low, high := scaled(r.Low), scaled(r.High)
	sd := math.Hypot(width(r.Mid(), figurePart), (high-low)/math.Sqrt(12))
	return normal(scaled(x)-(low+high)/2, sd)
}

// likely is the density of a reading if the line is l, and that of a misread one.
func likely(v Value, q *circuit.Quantity, l *circuit.Line) (read, misread float64) {
	switch v.Kind {
	case DC:
		at := *q
		at.Meter = v.Meter
		return likelyDC(v, l.Show(at).DC)
	case AC:
		at := *q
		at.Meter = v.Meter
		return inRange(v.Low, l.Show(at).AC), flatVolts
	case Resistance:
		return likelyOhms(v.Low, l.Ohms(q.From, q.To))
	}
	return 1, 1
}

func likelyDC(v Value, r circuit.Range) (read, misread float64) {
	how := 1 - steadily
	if v.Swings == r.Swings() {
		how = steadily
	}
	if !v.Swings {
		return how * inRange(v.Low, r), flatVolts / 2
	}
	low := normal(scaled(v.Low)-scaled(r.Low), width(r.Low, endsPart))
	high := normal(scaled(v.High)-scaled(r.High), width(r.High, endsPart))
	return how * low * high, flatVolts * flatVolts / 2
}

func likelyOhms(x, is float64) (read, misread float64) {
	isOver := is > mostOhms/4
	switch {
	case math.IsInf(x, 1) && isOver:
		return 1, overRange
	case math.IsInf(x, 1):
		return 0, overRange
	case isOver:
		return 0, flatOhms
	}
	return normal(scaled(x)-scaled(is), width(is, figurePart)), flatOhms
}

// The outcomes of a check by meter are ranges of its figure on the scale, so many to one.
const step = 0.5

// binsOf is how many outcomes a kind of value has.
func binsOf(k Kind) int {
	n := 2*int(math.Ceil(scaled(mostVolts)/step)) + 1
	switch k {
	case DC:
		return 2 * n // steady, swings
	case Resistance:
		return int(math.Ceil(scaled(mostOhms)/step)) + 2 // the last: over range
	}
	return n
}

// foretold adds what lines show of a quantity to the outcomes' probabilities, which sum to 1 but for the misread.
func foretold(p []float64, k Kind, q *circuit.Quantity, lines []circuit.Weighted) {
	n := binsOf(DC) / 2
	for i := range lines {
		l, w := &lines[i].Line, lines[i].Weight
		switch k {
		case DC:
			r := l.Show(*q).DC
			first, other := p[:n], p[n:]
			if r.Swings() {
				first, other = other, first
			}
			spread(first, scaled(r.Mid()), n/2, w*steadily)
			spread(other, scaled(r.Mid()), n/2, w*(1-steadily))
		case AC:
			spread(p, scaled(l.Show(*q).AC.Mid()), n/2, w)
		case Resistance:
			if x := l.Ohms(q.From, q.To); x > mostOhms/4 {
				p[len(p)-1] += w
			} else {
				spread(p[:len(p)-1], scaled(x), 0, w)
			}
		}
	}
}

// spread shares a weight out over the two outcomes about u.
func spread(p []float64, u float64, zero int, w float64) {
	at := u/step + float64(zero)
	at = math.Max(0, math.Min(float64(len(p)-1), at))
	i := min(int(at), len(p)-2)
	part := at - float64(i)
	p[i] += w * (1 - part)
	p[i+1] += w * part
}
