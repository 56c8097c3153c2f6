package verdict

import (
	"slices"

	"linewitness/capture"
	"linewitness/decode/cause"
	"linewitness/decode/validate"
)

// Class groups taps that see alike; each has weights of its own.
type Class uint8

// The classes: volts or amperes of a loop, the edges of a loop's current or of a board's pin, a pair in volts or edges.
const (
	ClassLevels Class = iota
	ClassEdges
	ClassPair
	Classes int = iota
)

func (c Class) String() string { return [...]string{"levels", "edges", "pair"}[c] }

// classOf is the class of a recording.
func classOf(in *Input) Class {
	switch {
	case in.Tap == capture.Pair:
		return ClassPair
	case in.Volts != nil && (in.Tap == capture.IndoorTerminal || in.Tap == capture.OutdoorTerminal || in.Tap == capture.TapUnknown || in.Volts.Loop):
		return ClassLevels
	}
	return ClassEdges
}

// Shown is what the signs of one recording show, for the fit.
type Shown struct {
	Class Class
	Keys  []Key             // candidates; the first is sound
	X     [][]float64       // by candidate: strength of every sign, in the order of Signs
	Bits  [][Groups]float64 // by candidate: what the evidence of each group says by itself, against sound
}

// Signs lists the ids of all signs.
func Signs() (ids []string) {
	for _, s := range signs() {
		ids = append(ids, s.id)
	}
	return ids
}

// Read reads the signs of a recording.
func Read(in Input) Shown {
	j := gather(in)
	in = j.in
	r, all, list := newReading(&in), candidateKeys(&in), signs()
	s := Shown{Class: classOf(&in), Keys: all, X: make([][]float64, len(all))}
	for i, k := range all {
		x := make([]float64, len(list))
		for f := range list {
			if _, ok := list[f].says(k.Cause); ok {
				x[f] = list[f].of(r, k)
			}
		}
		s.X[i] = x
		s.Bits = append(s.Bits, j.bits(k))
	}
	return s
}

// bits is what the evidence of each group says of a candidate.
func (j *judge) bits(k Key) (sum [Groups]float64) {
	for i := range j.evidence {
		e := &j.evidence[i]
		sum[e.group()] += e.Bits[k]
	}
	return sum
}

// Says tells which way a sign may speak of a cause: -1, 0 (either) or +1; ok false: it says as much as of a sound line.
func Says(sign int, c cause.Cause) (w int, ok bool) {
	v, ok := signs()[sign].says(c)
	return int(v), ok
}

func (s *sign) says(c cause.Cause) (w way, ok bool) {
	for _, p := range s.speaks {
		if slices.Contains(p.causes, c) {
			w, ok = p.way, true // a later row overrides
		}
	}
	return w, ok
}

// named calls a lone sender of unknown side a: who is heard alone polls, since an answer needs somebody who asks.
func named(f *validate.Facts) *validate.Facts {
	if f == nil || len(f.Senders) != 1 || f.Senders[0].Side != capture.SideUnknown {
		return f
	}
	g := *f
	g.Senders = slices.Clone(f.Senders)
	g.Senders[0].Side = capture.SideA
	return &g
}

// candidateKeys are all candidates of a recording. Where one sender is heard the other unit may still be at fault.
func candidateKeys(in *Input) []Key {
	sides := []capture.Side{capture.Indoor, capture.Outdoor}
	if in.Facts != nil {
		sides = sides[:0]
		for i := range in.Facts.Senders {
			sides = append(sides, in.Facts.Senders[i].Side)
		}
		if len(sides) == 1 && sides[0] == capture.SideA {
			sides = append(sides, capture.SideB)
		}
	}
	return keys(sides)
}

// Priors are the candidates' prior probabilities on a routine visit.
func Priors(all []Key) []float64 { return priors(all, Routine) }
