package circuit

import "math"

// Seen is what a recording in volts showed from S to N at one unit. NaN: not seen.
type Seen struct {
	At             Place
	Mark, Low, Top float64 // V: in mark, while the feeding unit opens, while the other one does
	Constant       float64 // V, where the line never moved
}

// Nothing is what was seen without volts.
func Nothing() Seen {
	return Seen{Mark: math.NaN(), Low: math.NaN(), Top: math.NaN(), Constant: math.NaN()}
}

// Weighted is a line that may be the one at hand, and how likely it is among its cause's.
type Weighted struct {
	Line   Line // as somebody finds it who measures
	Weight float64
}

// Weigh keeps those of a cause's lines that a recording allows. Each line's supply is set such that its largest level is the recording's;
// the other levels weigh it. The weights sum to 1; where nothing fits, all lines are kept alike, since then the cause is not refuted here.
func Weigh(draws []Draw, s Seen) []Weighted {
	all := make([]Weighted, 0, len(draws))
	sum := 0.0
	for i := range draws {
		d := &draws[i]
		scale, w := d.fit(s)
		if w < 1e-6 {
			continue
		}
		l := d.Faulty
		if !d.Now {
			l = d.Sound
		}
		l.Supply *= scale
		all = append(all, Weighted{l, w})
		sum += w
	}
	if len(all) == 0 {
		return alike(draws)
	}
	for i := range all {
		all[i].Weight /= sum
	}
	return Prune(all)
}

// negligible is the weight, relative to the largest, under which a line is left out.
const negligible = 1e-3

// Prune leaves out, in place, what weighs next to nothing; the weights sum to 1 again.
func Prune(all []Weighted) []Weighted {
	most, sum := 0.0, 0.0
	for i := range all {
		most = max(most, all[i].Weight)
	}
	kept := all[:0]
	for i := range all {
		if all[i].Weight >= negligible*most {
			kept = append(kept, all[i])
			sum += all[i].Weight
		}
	}
	for i := range kept {
		kept[i].Weight /= sum
	}
	return kept
}

func alike(draws []Draw) []Weighted {
	all := make([]Weighted, len(draws))
	for i := range draws {
		all[i] = Weighted{draws[i].Faulty, 1 / float64(len(draws))}
		if !draws[i].Now {
			all[i].Line = draws[i].Sound
		}
	}
	return all
}

// How well a level is foretold: the model leaves out what moves it by some per cent, and the drops of LEDs.
const (
	levelPart = 0.04
	levelVolt = 0.4
)

// Supplies as they are built, with room.
const (
	leastSupply = 15
	mostSupply  = 160
)

// fit is by what a draw's supply must be multiplied to show what was seen, and how well it then does.
func (d *Draw) fit(s Seen) (scale, weight float64) {
	if s.At == Between {
		return 1, 1
	}
	l := &d.Faulty
	if d.Passing {
		l = &d.Sound
	}
	mark, low, top := l.Levels(s.At)
	foretold, seen := [...]float64{mark, low, top}, [...]float64{s.Mark, s.Low, s.Top}
	if !math.IsNaN(s.Constant) {
		foretold, seen = [...]float64{mark, 0, 0}, [...]float64{s.Constant, math.NaN(), math.NaN()}
	}
	most := 0
	for i, x := range seen {
		if !math.IsNaN(x) && (math.IsNaN(seen[most]) || math.Abs(x) > math.Abs(seen[most])) {
			most = i
		}
	}
	scale = 1
	if x := seen[most]; math.Abs(x) > 2 && math.Abs(foretold[most]) > 2 {
		scale = x / foretold[most]
		if v := math.Abs(scale * d.Sound.Supply); v < leastSupply || v > mostSupply {
			return 1, 0
		}
	}
	weight = 1
	for i, x := range seen {
		if !math.IsNaN(x) {
			off := (scale*foretold[i] - x) / math.Hypot(levelVolt, levelPart*math.Abs(seen[most]))
			weight *= math.Exp(-off * off / 2)
		}
	}
	return scale, weight
}
