package compare

import "sort"

// Axis takes instants from one recording's axis to the other's, in seconds: straight between frames that both show, and
// beyond the outermost by the least-squares drift of them all.
type Axis struct {
	a, b  []float64 // both rising
	drift float64
}

func (p *path) axis(a, b *heard) *Axis {
	x := &Axis{}
	for i, j := range p.to {
		if j >= 0 {
			x.a = append(x.a, a.at[i])
			x.b = append(x.b, b.at[j])
		}
	}
	x.drift = drift(x.a, x.b)
	return x
}

// Second is the instant of the second recording at an instant of the first.
func (x *Axis) Second(t float64) float64 { return x.second(t) }

// First is the instant of the first recording at an instant of the second.
func (x *Axis) First(t float64) float64 { return x.first(t) }

func (x *Axis) second(t float64) float64 { return between(x.a, x.b, t, 1+x.drift) }

func (x *Axis) first(t float64) float64 { return between(x.b, x.a, t, 1/(1+x.drift)) }

func between(from, to []float64, t, slope float64) float64 {
	k := sort.SearchFloat64s(from, t)
	switch {
	case len(from) == 0:
		return t
	case k == 0:
		return to[0] + (t-from[0])*slope
	case k == len(from):
		return to[k-1] + (t-from[k-1])*slope
	}
	return to[k-1] + (t-from[k-1])*(to[k]-to[k-1])/(from[k]-from[k-1])
}
