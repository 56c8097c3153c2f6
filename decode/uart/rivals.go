package uart

import (
	"math"

	"linewitness/capture"
	"linewitness/capture/burst"
)

// Rival is another way to read a line than its link's.
type Rival struct {
	Line
	Kind RivalKind
	dec  *Decoder
}

// RivalKind says in what a rival differs.
type RivalKind uint8

// A rival has another speed, another character format, or mark and space exchanged; one of them a time.
const (
	RivalSpeed RivalKind = iota
	RivalFormat
	RivalPolarity
	RivalKinds
)

// Rivals weigh bursts by the link's own reading and by its neighbours: the standard speeds below and above, the usual formats of 7 and 8
// data bits, the other polarity where the line has two levels. They hold scratch and belong to one goroutine.
type Rivals struct {
	All   []Rival // the link's own reading first
	chars Chars
	floor float64                    // finest place of an edge that counts, ticks: the same for all
	place [placesAUnit/2 + 1]float64 // what displacements up to half a unit interval cost, bits
}

// NewRivals makes them for a line at its true speed.
func NewRivals(l Line, c capture.Clock) *Rivals {
	r := &Rivals{floor: max(1, 0.01*c.PerSecond()/l.Speed)}
	for i := range r.place {
		x := float64(i) / placesAUnit
		normal := math.Exp(-x*x/(2*edgeSpread*edgeSpread)) / (edgeSpread * math.Sqrt(2*math.Pi))
		r.place[i] = -math.Log2((1-strayEdges)*normal + strayEdges)
	}
	add := func(l Line, kind RivalKind) {
		if c.PerSecond()/l.Speed >= 2 {
			r.All = append(r.All, Rival{l, kind, NewDecoder(l, c)})
		}
	}
	add(l, RivalKinds)
	below, above := neighbours(l.Speed)
	for _, s := range [...]float64{below, above} {
		o := l
		if o.Speed = s; s > 0 {
			add(o, RivalSpeed)
		}
	}
	for _, f := range [...]Format{{8, ParityNone, 2}, {8, ParityEven, 2}, {8, ParityOdd, 2}, {7, ParityEven, 2}, {7, ParityOdd, 2}, {8, ParityNone, 4}} {
		o := l
		if o.Format = f; f != l.Format {
			add(o, RivalFormat)
		}
	}
	if o := l; !l.Mid {
		o.Inverted = !l.Inverted
		add(o, RivalPolarity)
	}
	return r
}

// neighbours are the standard speeds over 3 % below and above; 0: none.
func neighbours(speed float64) (below, above float64) {
	for _, s := range standard {
		switch {
		case s < 0.97*speed:
			below = s
		case s > 1.03*speed && above == 0:
			above = s
		}
	}
	return below, above
}

// Weigh appends to dst the description length of a burst under each reading in turn, in bits, up to a constant that all share: the bits
// of its characters, what their rules were broken by, and where their edges stand. A rival's parity saves nothing, since what repeats
// holds it every time.
func (r *Rivals) Weigh(dst []float64, b *burst.Batch, s *burst.Span) []float64 {
	for i := range r.All {
		r.chars.Reset()
		r.All[i].dec.Burst(&r.chars, b, s)
		dst = append(dst, r.bits(r.All[i].dec, b.At[s.From:s.To], i == 0))
	}
	return dst
}

// Of edges within characters so many are displaced by chance, evenly over the unit interval, and the others normally about their places.
const (
	strayEdges = 0.02
	edgeSpread = 0.05

	placesAUnit = 256 // displacements a unit interval whose costs are kept
)

// bits is the description length of a burst that a decoder read as r.chars.
func (r *Rivals) bits(d *Decoder, at []capture.Tick, own bool) float64 {
	c := &r.chars
	anywhere := math.Log2(d.bit / r.floor) // of an edge within a unit interval
	sum := costGlitch * float64(len(c.Glitches))
	each := float64(d.line.Format.Bits())
	if own && d.line.Format.Parity != ParityNone {
		each--
	}
	i, left := 0, len(at)-2*len(c.Glitches)
	for n := range c.Chars {
		x := &c.Chars[n]
		left -= 1 + int(x.Edges)
		sum += each
		if x.Fault&(FaultStop|FaultBreak) != 0 {
			sum += costBroken
		}
		if x.Fault&FaultParity != 0 {
			sum += costBroken
		}
		if n > 0 {
			sum += r.rest(d, x.At-c.Chars[n-1].End, anywhere)
		}
		for i < len(at) && at[i] < x.At {
			i++
		}
		sum += float64(x.Edges) * anywhere
		if x.Fault&FaultGlitch != 0 || i+int(x.Edges) >= len(at) {
			continue // where its edges stand is not worth the search
		}
		for _, t := range at[i+1 : i+1+int(x.Edges)] {
			e := float64(t-x.At) * d.inv
			sum += r.displaced(e - float64(int(e+0.5)))
		}
	}
	return sum + float64(max(left, 0))*(costBroken+anywhere) // changes that no character explains
}

// rest is what a start edge costs that comes so long after the character before.
func (r *Rivals) rest(d *Decoder, idle capture.Tick, anywhere float64) float64 {
	if x := float64(idle) * d.inv; math.Abs(x) <= 0.3 {
		return r.displaced(x) + anywhere
	}
	return costPause
}

// displaced is what a displacement costs against one that may be anywhere in the unit interval, in bits.
func (r *Rivals) displaced(x float64) float64 {
	return r.place[min(int(math.Abs(x)*placesAUnit+0.5), len(r.place)-1)]
}
