package main

import (
	"fmt"
	"io"
	"iter"
	"maps"
	"math"
	"math/rand/v2"
	"slices"

	"golang.org/x/sync/errgroup"

	"linewitness/capture"
	"linewitness/decode/verdict"
)

// What a forest is made of (P. Geurts, D. Ernst and L. Wehenkel, Machine Learning 63, 2006: trees with thresholds drawn at random).
const (
	trees     = 150
	leastLeaf = 3
	mostDepth = 24
)

// forest guesses a cause from the facts alone, without knowing any physics: what can be got from them at least.
type forest struct{ roots []*branch }

// branch parts samples at a threshold, or is a leaf with each class's share.
type branch struct {
	feature   int
	threshold float64
	low, high *branch
	shares    []float64
}

// grow grows a forest on samples, with a class each and so many classes.
func grow(x [][]float64, class []int, classes int, seed uint64) *forest {
	f := &forest{roots: make([]*branch, trees)}
	weight := make([]float64, classes)
	for _, c := range class {
		weight[c]++
	}
	for c, n := range weight {
		if n > 0 {
			weight[c] = 1 / math.Sqrt(n) // rare causes are heard
		}
	}
	for i := range f.roots {
		g := grower{x, class, weight, rand.New(rand.NewPCG(seed, uint64(i)))}
		all := make([]int, len(x))
		for n := range all {
			all[n] = n
		}
		f.roots[i] = g.branch(all, 0)
	}
	return f
}

type grower struct {
	x      [][]float64
	class  []int
	weight []float64
	r      *rand.Rand
}

func (g *grower) branch(at []int, depth int) *branch {
	shares := g.shares(at)
	if depth == mostDepth || len(at) < 2*leastLeaf || slices.Max(shares) > 0.999 {
		return &branch{shares: shares}
	}
	best, bestFeature, bestThreshold := math.Inf(1), -1, 0.0
	features := len(g.x[0])
	for range int(math.Sqrt(float64(features))) + 5 {
		f := g.r.IntN(features)
		threshold := g.x[at[g.r.IntN(len(at))]][f]
		if math.IsNaN(threshold) {
			threshold = math.Inf(-1) // measured against not measured
		}
		if gini := g.gini(at, f, threshold); gini < best {
			best, bestFeature, bestThreshold = gini, f, threshold
		}
	}
	if bestFeature < 0 {
		return &branch{shares: shares}
	}
	low, high := g.part(at, bestFeature, bestThreshold)
	return &branch{bestFeature, bestThreshold, g.branch(low, depth+1), g.branch(high, depth+1), nil}
}

// goesLow tells on which side of a threshold a value is; what was not measured is below all.
func goesLow(v, threshold float64) bool { return !(v > threshold) }

func (g *grower) part(at []int, f int, threshold float64) (low, high []int) {
	for _, i := range at {
		if goesLow(g.x[i][f], threshold) {
			low = append(low, i)
		} else {
			high = append(high, i)
		}
	}
	return low, high
}

// gini is the impurity of both sides together; infinite where one is too small.
func (g *grower) gini(at []int, f int, threshold float64) float64 {
	low, high := g.part(at, f, threshold)
	if len(low) < leastLeaf || len(high) < leastLeaf {
		return math.Inf(1)
	}
	sum := 0.0
	for _, side := range [][]int{low, high} {
		pure := 0.0
		for _, s := range g.shares(side) {
			pure += s * s
		}
		sum += float64(len(side)) * (1 - pure)
	}
	return sum
}

func (g *grower) shares(at []int) []float64 {
	s, sum := make([]float64, len(g.weight)), 0.0
	for _, i := range at {
		s[g.class[i]] += g.weight[g.class[i]]
		sum += g.weight[g.class[i]]
	}
	for c := range s {
		s[c] /= sum
	}
	return s
}

// guess is each class's share.
func (f *forest) guess(x []float64) []float64 {
	var sum []float64
	for _, b := range f.roots {
		for b.shares == nil {
			if goesLow(x[b.feature], b.threshold) {
				b = b.low
			} else {
				b = b.high
			}
		}
		if sum == nil {
			sum = make([]float64, len(b.shares))
		}
		for c, s := range b.shares {
			sum[c] += s / float64(len(f.roots))
		}
	}
	return sum
}

// features are the figures that a verdict stands on, in an order that is the same for all samples: those of the facts by id and sender,
// and of the levels. NaN: not measured.
func features(all []verdict.Input) [][]float64 {
	places := map[string]int{}
	out := make([][]float64, len(all))
	for i := range all {
		named := figures(&all[i])
		out[i] = make([]float64, len(places), len(places)+8)
		for n := range out[i] {
			out[i][n] = math.NaN()
		}
		for _, f := range named {
			at, ok := places[f.name]
			if !ok {
				at = len(places)
				places[f.name] = at
			}
			for len(out[i]) <= at {
				out[i] = append(out[i], math.NaN())
			}
			out[i][at] = f.value
		}
	}
	for i := range out {
		for len(out[i]) < len(places) {
			out[i] = append(out[i], math.NaN())
		}
	}
	return out
}

type figure struct {
	name  string
	value float64
}

// figures of one recording. Senders are the one that polls and the other.
func figures(in *verdict.Input) (all []figure) {
	add := func(name string, v float64) { all = append(all, figure{name, v}) }
	add("changes", float64(in.Changes))
	add("tap", float64(in.Tap))
	add("space", in.SpaceS)
	if f := in.Facts; f != nil {
		for i := range f.Senders {
			s, at := &f.Senders[i], fmt.Sprint("sender ", i)
			add(at+" side", truthOf(s.Side == capture.Indoor))
			for name, n := range ordered(map[string]int64{"good": s.Good, "frames": s.Frames, "clean": s.Clean.N, "dirty": s.Dirty.N, "unframed": s.Unframed.N, "missing": s.Missing.N, "late": s.Late.N}) {
				add(at+" "+name, float64(n))
				add(at+" share of "+name, float64(n)/math.Max(1, float64(s.Frames)))
			}
		}
		add("pulses", float64(f.Pulses.N))
		add("pulses of mark", float64(f.GlitchMark))
	}
	for i, s := range in.Signals {
		add(fmt.Sprint("clock ", i), s.PPM)
		add(fmt.Sprint("bias ", i), s.BiasPct)
	}
	for i := range in.List {
		f := &in.List[i]
		name := f.ID
		if in.Facts != nil && len(in.Facts.Senders) > 1 && f.Side == in.Facts.Senders[1].Side {
			name += " of the other"
		}
		add(name, f.Value)
		add(name+" p", f.P)
	}
	if v := in.Volts; v != nil {
		span := math.Abs(v.High - v.Low)
		for name, x := range ordered(map[string]float64{"levels": float64(v.Levels), "place": v.Place(), "held low": v.HeldLow, "held high": v.HeldHigh, "dips": float64(v.Dips.N),
			"dip to": v.DipTo, "place moves": v.PlaceMove, "high moves": v.HighMove, "mark's noise": v.MarkNoise, "edges": v.TauBits, "spikes": float64(v.Spikes.N),
			"hum low": v.Hum[1] / span, "hum mid": v.Hum[2] / span, "hum high": v.Hum[3] / span, "ripple": v.Ripple[2] / span, "peak": v.Peak, "constant": v.Constant,
			"clipped": float64(v.Clipped), "swings": float64(v.Swing.Swinging), "beyond": v.BeyondMost / span, "only mains": truthOf(v.OnlyMains)}) {
			add("volts: "+name, x)
		}
	}
	return all
}

// ordered goes through a map in the order of its names, so that features have the same places in every run.
func ordered[V any](m map[string]V) iter.Seq2[string, V] {
	return func(yield func(string, V) bool) {
		for _, name := range slices.Sorted(maps.Keys(m)) {
			if !yield(name, m[name]) {
				return
			}
		}
	}
}

func truthOf(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

// ceiling grows a forest on all worlds but one and lets it name the cause of that one's lines, for all; sides are not asked for.
func (o *options) ceiling(w io.Writer, all []sample, basis []verdict.Input) {
	x := features(basis)
	var causes, worlds []string
	class := make([]int, len(all))
	for i := range all {
		l := labelOf(&all[i])
		if !slices.Contains(causes, l) {
			causes = append(causes, l)
		}
		class[i] = slices.Index(causes, l)
		if !slices.Contains(worlds, all[i].World) {
			worlds = append(worlds, all[i].World)
		}
	}
	accepted := make([]bool, len(all))
	var crew errgroup.Group
	crew.SetLimit(o.workers)
	for n, world := range worlds {
		crew.Go(func() error {
			var tx [][]float64
			var tc []int
			for i := range all {
				if all[i].World != world {
					tx, tc = append(tx, x[i]), append(tc, class[i])
				}
			}
			if len(tx) == 0 {
				return nil
			}
			f := grow(tx, tc, len(causes), uint64(n))
			for i := range all {
				if all[i].World == world {
					g := f.guess(x[i])
					accepted[i] = all[i].takes(causes[slices.Index(g, slices.Max(g))])
				}
			}
			return nil
		})
	}
	_ = crew.Wait() // none of them fails
	ok, leads := 0, 0
	for i := range all {
		if accepted[i] {
			ok++
		}
		if o.leads(&all[i], basis[i]) {
			leads++
		}
	}
	fmt.Fprintf(w, "\nA forest of random trees on the same facts, grown on all worlds but one, judged on that one (the cause alone):\n\n")
	share(w, "its cause right or allowed", ok, len(all))
	share(w, "the verdict's leading cause so", leads, len(all))
}

// takes tells whether a cause, at whatever side, is among those that can't be excluded.
func (s *sample) takes(name string) bool {
	for i, k := range s.Shown.Keys {
		if s.Match[i] >= allowed && k.Cause.String() == name {
			return true
		}
	}
	return s.Traceless && name == "none"
}

// leads tells so of the shipped verdict's leading candidate.
func (o *options) leads(s *sample, in verdict.Input) bool {
	return s.takes(verdict.Judge(in).Candidates[0].Cause.String())
}
