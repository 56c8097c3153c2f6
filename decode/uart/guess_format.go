package uart

import (
	"fmt"
	"math"
	"slices"
)

// name turns raw readings into formats: each number of bits is data bits alone, or one fewer and a parity.
func (g *guesser) name() []Guessed {
	var all []Guessed
	for i := range g.found {
		r := &g.found[i]
		if r.cost > g.found[0].cost+200+g.found[0].cost*0.5 && len(all) > 0 {
			break
		}
		all = append(all, g.formats(r)...)
	}
	slices.SortStableFunc(all, func(a, b Guessed) int { return cmpFloat(a.Bits, b.Bits) })
	if len(all) > 12 {
		all = all[:12]
	}
	if len(all) > 0 {
		g.equivalents(all)
	}
	return all
}

// priorBits is what a format costs before anything is seen: the usual ones are cheap. Common practice, no source.
func priorBits(f Format) float64 {
	bits := 0.0
	switch f.DataBits {
	case 8:
	case 7:
		bits += 2
	default:
		bits += 6
	}
	switch f.Parity {
	case ParityNone:
	case ParityEven, ParityOdd:
		bits++
	default:
		bits += 6
	}
	return bits + float64(f.StopHalfs-2)
}

// formats are the formats that a raw reading may stand for.
func (g *guesser) formats(r *reading) []Guessed {
	distinct := values(r)
	stop := stopHalfs(r.gaps)
	var all []Guessed
	add := func(f Format, bits float64, broken int) {
		if !f.Valid() {
			return
		}
		all = append(all, Guessed{Line: Line{Speed: g.clock.PerSecond() / r.bit, Format: f, Inverted: r.inverted},
			Bits: r.cost + bits + priorBits(f), PPM: r.ppm, Characters: len(r.chars), Broken: r.broken + broken})
	}
	add(Format{DataBits: r.data, StopHalfs: stop}, 0, 0)
	for p := ParityEven; p <= ParitySpace; p++ {
		right, wrong := parityCount(r, distinct, p)
		saved := float64(right)
		if p >= ParityMark {
			saved = math.Min(saved, 4) // a constant bit may as well be a stop element or a data bit never used
		}
		add(Format{DataBits: r.data - 1, Parity: p, StopHalfs: stop}, float64(wrong)*costBroken-saved, wrong)
	}
	return all
}

// values counts the raw values of clean characters: those that break nothing and whose edges are not further from their
// places than is usual on this line. What noise has hit says nothing about parity.
func values(r *reading) map[uint16]int {
	var off []float64
	for i := range r.chars {
		off = append(off, math.Abs(float64(r.chars[i].Distortion())))
	}
	slices.Sort(off)
	limit := off[len(off)/2] + 0.12
	m := map[uint16]int{}
	for i := range r.chars {
		if c := &r.chars[i]; c.Fault == 0 && math.Abs(float64(c.Distortion())) <= limit {
			m[c.Value]++
		}
	}
	return m
}

// parityCount counts distinct raw values that keep a parity, and characters that don't.
func parityCount(r *reading, distinct map[uint16]int, p Parity) (right, wrong int) {
	d := Decoder{line: Line{Format: Format{Parity: p}}}
	top := uint(r.data - 1)
	for v, n := range distinct {
		if d.parityOK(uint(v)&(1<<top-1), uint(v)>>top&1) {
			right++
		} else {
			wrong += n
		}
	}
	return right, wrong
}

// stopHalfs reads the stop element from the shortest idle between characters: 2, 3 or 4 half bits. Where characters never
// stand back to back it is 2, the least that fits.
func stopHalfs(gaps []float64) uint8 {
	near := []float64{}
	for _, v := range gaps {
		if v > -0.5 && v < 3 {
			near = append(near, v)
		}
	}
	if len(near) < 4 {
		return 2
	}
	slices.Sort(near)
	least := near[len(near)/50]
	same := 0
	for _, v := range near {
		if math.Abs(v-least) < 0.15 {
			same++
		}
	}
	if same*3 < len(near) {
		return 2
	}
	switch {
	case math.Abs(least-0.5) < 0.2:
		return 3
	case math.Abs(least-1) < 0.2:
		return 4
	}
	return 2
}

// equivalents names for the best reading what the data leaves open.
func (g *guesser) equivalents(all []Guessed) {
	best := &all[0]
	var r *reading
	for i := range g.found {
		f := &g.found[i]
		if f.inverted == best.Inverted && math.Abs(g.clock.PerSecond()/f.bit/best.Speed-1) < 1e-9 && int(f.data) == best.Format.Bits()-1 {
			r = f
			break
		}
	}
	if r == nil {
		return
	}
	distinct := values(r)
	f := best.Format
	stop := func(s uint8) string { return map[uint8]string{2: "1", 3: "1.5", 4: "2"}[s] }
	if s := stopHalfs(r.gaps); s == 2 && !backToBack(r.gaps) {
		best.Equivalent = append(best.Equivalent, fmt.Sprintf("%d%s with 1, 1.5 or 2 stop bits: characters never stand back to back", f.DataBits, f.Parity))
	} else if s == 4 && f.Parity == ParityNone && f.DataBits < 9 {
		best.Equivalent = append(best.Equivalent, fmt.Sprintf("%dM1: a parity bit that is always mark looks like a second stop bit", f.DataBits))
	}
	for p := ParityEven; p <= ParitySpace; p++ {
		if p == f.Parity || f.Parity != ParityNone || f.DataBits < 6 {
			continue
		}
		if right, wrong := parityCount(r, distinct, p); wrong == 0 && right > 0 {
			best.Equivalent = append(best.Equivalent, fmt.Sprintf("%d%s%s: the last data bit keeps that parity in all %d distinct characters", f.DataBits-1, p, stop(f.StopHalfs), right))
		}
	}
	if f.Parity != ParityNone {
		right, _ := parityCount(r, distinct, f.Parity)
		if right < 8 {
			best.Equivalent = append(best.Equivalent, fmt.Sprintf("%dN%s: only %d distinct characters were seen", f.DataBits+1, stop(f.StopHalfs), right))
		}
	}
	for i := 1; i < len(all) && len(best.Equivalent) < 6; i++ {
		if o := &all[i]; o.Bits-best.Bits < 6 && !o.sameShape(best) {
			best.Equivalent = append(best.Equivalent, fmt.Sprintf("%.4g Bd %s, inverted %v: %.1f bits less likely", o.Speed, o.Format, o.Inverted, o.Bits-best.Bits))
		}
	}
}

// sameShape tells whether two readings differ only in how bits between start and stop are named.
func (a *Guessed) sameShape(b *Guessed) bool {
	return a.Inverted == b.Inverted && math.Abs(a.Speed/b.Speed-1) < 0.01 && a.Format.Bits() == b.Format.Bits()
}

func backToBack(gaps []float64) bool {
	n := 0
	for _, v := range gaps {
		if math.Abs(v) < 0.2 {
			n++
		}
	}
	return n >= 3
}
