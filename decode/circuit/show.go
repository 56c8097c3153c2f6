package circuit

import "math"

// Show is what a meter shows of a quantity.
func (l *Line) Show(q Quantity) Shown {
	if q.From > q.To { // S to N and N to S differ in sign only
		q.From, q.To = q.To, q.From
		s := l.Show(q)
		s.DC = Range{-s.DC.High, -s.DC.Low}
		return s
	}
	dc, ac := l.signal(q)
	switch {
	case q.From == N && q.To == S: // wired as S to N: From < To
		return Shown{Range{-dc.High, -dc.Low}, ac}
	case q.From == S && q.To == PE:
		return Shown{dc, Range{ac.Low + l.potential(N, q), ac.High + l.potential(N, q)}}
	case q.To == S: // L to S
		v := l.potential(L, q) - l.potential(N, q)
		return Shown{Range{-dc.High, -dc.Low}, Range{math.Abs(v - ac.High), math.Abs(v - ac.Low)}.sorted()}
	}
	v := math.Abs(l.potential(q.From, q) - l.potential(q.To, q))
	return Shown{AC: Range{v, v}}
}

func (r Range) sorted() Range { return Range{min(r.Low, r.High), max(r.Low, r.High)} }

// signal is what stands from S to N at a unit.
func (l *Line) signal(q Quantity) (dc, ac Range) {
	if l.Order == OrderLS || l.Order == OrderSN {
		if q.At == l.far() && q.Lifted != q.At {
			return Range{-l.LiveMean * l.Mains, l.LiveMean * l.Mains}, Range{0.9 * l.Mains, 1.02 * l.Mains}
		}
	}
	if live, on := l.live(q); on {
		m := math.Copysign(l.LiveMean*l.Mains, l.Supply)
		return Range{m, m}, Range{0.95 * live, live}
	}
	f, o := l.unit(l.Feed), l.unit(l.Feed.other())
	rest := l.volts(q, f.closed(), o.closed())
	byFeed := f.Duty * (l.volts(q, false, o.closed()) - rest)
	byOther := o.Duty * (l.volts(q, f.closed(), false) - rest)
	if f.Sender != Talks || !l.runs(l.Feed) {
		byFeed = 0
	}
	if o.Sender != Talks || !l.runs(l.Feed.other()) {
		byOther = 0
	}
	dc = Range{rest + byFeed + byOther, rest + byFeed + byOther}
	dc.take(rest + byFeed)
	dc.take(rest + byOther)
	if !l.Busy {
		dc.take(rest)
	}
	return dc, l.alternating(q, dc)
}

// live is the mains volts on S at a unit, where L reaches it there.
func (l *Line) live(q Quantity) (volts float64, on bool) {
	if l.LiveS == 0 || q.bare() {
		return 0, false
	}
	return l.LiveS * l.Mains, true
}

// bare tells whether S is lifted such that what is measured is the bare terminal of a unit.
func (q Quantity) bare() bool { return q.Lifted == q.At && q.Lifted != Between }

// alternating is the AC that stands beside the talk: pickup where nobody drives S, else hum and the supply's ripple; the talk itself
// moves an AC range too.
func (l *Line) alternating(q Quantity, dc Range) Range {
	if l.afloat(q) {
		v := l.Mains * l.Ghost
		if q.Meter == LowZ {
			v /= TenMeg.ohms() / LowZ.ohms()
		}
		if q.bare() {
			v *= 0.05 // a terminal without a cable
		}
		return Range{0.8 * v, v}
	}
	v := l.Hum
	if l.runs(l.Feed) && math.Abs(dc.Mid()) > 0.5 {
		v = math.Hypot(v, l.Ripple)
	}
	return Range{v, v + (dc.High - dc.Low)}
}

// afloat tells whether nothing but the meter holds S at that unit.
func (l *Line) afloat(q Quantity) bool {
	if at, leaks := l.leakAt(q.Lifted); leaks && (at == q.At || l.joined(q.Lifted) > 0) && l.Leak < 1e6 {
		return false
	}
	holds := func(p Place) bool { return l.runs(p) && l.unit(p).Sender != Open }
	if l.joined(q.Lifted) > 0 {
		return !holds(q.At) && !holds(q.At.other())
	}
	return !holds(q.At)
}

// potential is a conductor's mains volts to earth at a unit.
func (l *Line) potential(c Conductor, q Quantity) float64 {
	far := q.At == l.far()
	drop := 0.3 * l.NDrop
	if far {
		drop = l.NDrop
	}
	if far && l.unit(q.At).Live {
		switch {
		case l.Order == OrderLN:
			return map[Conductor]float64{L: drop, N: l.Mains}[c]
		case l.Order == OrderLS:
			return map[Conductor]float64{L: drop, N: drop}[c]
		case l.Order == OrderSN && c == N, l.OpenN && c == N:
			return 0.95 * l.Mains // through the unit's own load
		}
	}
	switch {
	case c == N:
		return drop
	case c == L && l.unit(q.At).Live:
		return l.Mains
	case c == L:
		return 0.01 * l.Mains
	}
	return 0
}

// Ohms is the resistance with the power off and S and N disconnected at both ends: of conductor S from end to end, or from S to N.
func (l *Line) Ohms(from, to Conductor) float64 {
	switch {
	case from == S && to == S:
		if l.OpenS {
			return math.Inf(1)
		}
		return l.JointS
	case from == N && to == N:
		if l.OpenN {
			return math.Inf(1)
		}
		return 0.5
	case from == L && to == S || from == S && to == L:
		if l.LiveS > 0 && l.Order == RightOrder {
			return 1
		}
		return math.Inf(1)
	}
	return l.Leak
}
