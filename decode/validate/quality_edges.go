package validate

import (
	"math"

	"linewitness/capture"
	"linewitness/decode/link"
	"linewitness/decode/uart"
)

// edgeFaults are those with which a character's edges may belong to anything.
const edgeFaults = uart.FaultStop | uart.FaultBreak | uart.FaultCut | uart.FaultGlitch

// EdgeWalk goes through the transitions of a batch once more, frame by frame in order of time, and measures what a character's
// sums do not hold. It belongs to one goroutine.
type EdgeWalk struct {
	inv     float64 // unit intervals a tick, as characters are read
	nominal float64 // nominal speed over the one that characters are read at
	at      []capture.Tick
	i       int
}

// NewEdgeWalk makes a walk for a link on a clock.
func NewEdgeWalk(p *link.Profile, c capture.Clock) EdgeWalk {
	return EdgeWalk{inv: p.Speed() / c.PerSecond(), nominal: p.Line.Speed / p.Speed()}
}

// Batch begins with the transitions that the next frames were read from.
func (w *EdgeWalk) Batch(at []capture.Tick) { w.at, w.i = at, 0 }

// FrameEdges is what the edges of one frame's characters say, in unit intervals, late positive, from each character's start edge.
type FrameEdges struct {
	N           int          // edges; 0: nothing was measured
	Late, Early float64      // latest and earliest against the nominal rate (gross)
	Sync        float64      // largest displacement, either way, against the frame's own mean rate
	LateAt      capture.Tick // of that edge's character
	EarlyAt     capture.Tick
	After       [2]contrast // edges that end a space, edges that end a mark: after one bit against after more
	Free        float64     // variance of an edge without clock, bias and After
	DoF         float64     // degrees of freedom that Free has
}

// contrast holds the sums of a least-squares slope: its estimate is num/den.
type contrast struct{ num, den float64 }

// runSums are those of one kind of edge within a character; z is 1 after a run of one bit.
type runSums struct{ n, z, k, d, zk, zd float64 }

// mostWalked is how many characters of a frame are gone through; of longer ones they are evenly spread.
const mostWalked = 2

// Measure goes on to a frame and adds to q what edges say of it. Fits are those of its characters.
func (w *EdgeWalk) Measure(f *link.Frame, fits []uart.CharFit, q *Quality) {
	e := &q.Edges
	slope, _ := q.Fit.Slope()
	if slope != slope {
		slope = 0
	}
	var fit uart.Fit
	var sums [2]runSums // zk and zd about the means of each character
	each := max(1, (len(f.Chars)+mostWalked-1)/mostWalked)
	next := pick(f.At, each)
	for i := range f.Chars {
		c := &f.Chars[i]
		if i != next {
			w.i += 1 + int(c.Edges) // or more, where pulses were passed over
			continue
		}
		next += each
		if c.Fault&edgeFaults == 0 && w.seek(c) {
			fit.AddChar(fits[i])
			w.character(e, c, slope, &sums)
		}
	}
	if fit.Sxx <= 0 || fit.DoF < 2 {
		return
	}
	e.Free, e.DoF = fit.Sdd-fit.Sxd*fit.Sxd/fit.Sxx, float64(fit.DoF-1)
	for g := range sums {
		s := &sums[g]
		r := s.zk / fit.Sxx
		a := contrast{s.zd - r*fit.Sxd, s.z - r*s.zk}
		if a.den > 0.2 { // else hardly a run of each length
			e.After[g] = a
			e.Free -= a.num * a.num / a.den
			e.DoF--
		}
	}
	if e.DoF > 0 {
		e.Free = max(e.Free, 0) / e.DoF
	}
}

// seek goes on to a character's start edge; false where the transitions are not those that it was read from.
func (w *EdgeWalk) seek(c *uart.Character) bool {
	for w.i < len(w.at) && w.at[w.i] < c.At {
		w.i++
	}
	return w.i+int(c.Edges) < len(w.at) && w.at[w.i] == c.At
}

// ofOneBit is 1 for a run of one bit.
var ofOneBit = [16]float64{1: 1}

// character goes through a character's edges: in turn they end a space and a mark. It adds the sums of each kind.
func (w *EdgeWalk) character(e *FrameEdges, c *uart.Character, slope float64, all *[2]runSums) {
	at := w.at[w.i+1 : w.i+1+int(c.Edges)]
	e.N += len(at)
	w.i += 1 + len(at)
	var of [2]runSums
	of[1].n = 1 // the start edge ends a mark of more than a bit: k, z and d are 0
	late, early, sync, last := e.Late, e.Early, e.Sync, 0
	inv, nominal, start := w.inv, w.nominal, c.At
	for i, t := range at {
		x := float64(t-start) * inv
		bit := int(x + 0.5)
		k := float64(bit)
		d := x - k
		gross := x*nominal - k
		late, early, sync = max(late, gross), min(early, gross), max(sync, math.Abs(d-slope*k))
		s, z := &of[i&1], ofOneBit[(bit-last)&15]
		s.n++
		s.k += k
		s.d += d
		s.z += z
		s.zk += z * k
		s.zd += z * d
		last = bit
	}
	if late > e.Late {
		e.Late, e.LateAt = late, start
	}
	if early < e.Early {
		e.Early, e.EarlyAt = early, start
	}
	e.Sync = sync
	for g := range of {
		if s := &of[g]; s.z > 0 {
			r := s.z / s.n
			all[g].z += s.z - s.z*r
			all[g].zk += s.zk - s.k*r
			all[g].zd += s.zd - s.d*r
		}
	}
}
