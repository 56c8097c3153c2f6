package checksum

import (
	"bytes"
	"cmp"
	"math"
	"slices"
)

// Fit is a Spec that all frames of a search satisfy.
type Fit struct {
	Spec   Spec
	Chance float64 // that some wrong Spec of this size would have fitted these frames by accident
}

// Result is what Search found. Fits stand in the order in which they should be believed: simple sums before the
// catalogue's CRC before simple sums with a start value taken from the frames; within an algorithm those that cover most.
type Result struct {
	Fits     []Fit
	Distinct int    // frames of different content
	Tried    [3]int // hypotheses tried, by the sum's octets
}

// maxFrom is the largest number of leading octets, such as start marks, that Search leaves uncovered.
const maxFrom = 3

// Search finds the sums that all frames satisfy: every simple sum and every CRC of the catalogue, in both orders, over
// [From, At) with From 0 to 3, at the frame's end, or before one end mark where all frames end in the same octet. Sums
// whose start value is a mere offset are also tried with any start value, which costs one frame's worth of evidence.
//
// A caller accepts a fit only where Chance is small, say under 1e-6, takes the first such, and keeps the rest as what
// the frames cannot tell apart. Several acceptable fits are usual and no accident: an exclusive or over a constant
// start mark and the same from behind it with another start value are one rule; CRC that differ only in start value or
// final exclusive or agree on frames of one length.
//
// Chance counts independent frames, not frames. Every rule that is tried is linear but for a constant, so frames that
// are combinations of others prove nothing more: a hundred frames that differ by a constant, in a counter and in the
// sum, count as two for the sums of octets.
// What remains: octets that change by multiples of a power of two only (flags in the top bit) leave the additive sums
// less to prove than Chance says, so frames of a variety of contents should be given.
func Search(frames [][]byte) Result {
	distinct := distinctFrames(frames)
	res := Result{Distinct: len(distinct)}
	if len(distinct) == 0 {
		return res
	}
	evidence := map[bool]int{true: additiveRank(distinct), false: xorRank(distinct)}
	marks := 1
	if sameLast(distinct) {
		marks = 2
	}
	type found struct {
		spec    Spec
		rank    int
		samples int
	}
	var hits []found
	try := func(sum Sum, rank, samples int, free bool) {
		orders := []Order{Big, Little}[:sum.Size()]
		for from := 0; from <= maxFrom; from++ {
			for mark := range marks {
				for _, order := range orders {
					at := -sum.Size() - mark
					spec := Spec{Sum: sum, From: from, To: at, At: at, Order: order}
					res.Tried[sum.Size()]++
					if free && !spec.start(distinct[0]) {
						continue
					}
					if spec.fits(distinct) {
						hits = append(hits, found{spec, rank, samples})
					}
				}
			}
		}
	}
	for k, s := range simples {
		try(simple{kind: kind(k)}, 0, evidence[s.additive], false)
	}
	for _, e := range catalogue {
		try(e.Sum(), 1, evidence[false], false)
	}
	for k, s := range simples {
		// The complements differ from each other by an offset only, so one of them is enough.
		if s.offset && kind(k) != sum8Ones {
			try(simple{kind: kind(k)}, 2, evidence[s.additive]-1, true)
		}
	}
	slices.SortStableFunc(hits, func(a, b found) int { return cmp.Compare(a.rank, b.rank) })
	for _, h := range hits {
		size := h.spec.Sum.Size()
		res.Fits = append(res.Fits, Fit{h.spec, chance(res.Tried[size], size, h.samples)})
	}
	return res
}

// chance is 1 - (1 - p)^tried where a wrong rule fits each of samples independent frames with probability 2^-8size.
func chance(tried, size, samples int) float64 {
	p := math.Exp2(-8 * float64(size) * float64(max(samples, 0)))
	if p >= 1 {
		return 1
	}
	return -math.Expm1(float64(tried) * math.Log1p(-p))
}

// Needs is how many more independent frames would bring the Chance of a rule of size octets from c to at most limit.
// It is 0 where that is so already, and at least 1 otherwise.
func Needs(c, limit float64, size int) int {
	if c <= limit || limit <= 0 || size < 1 {
		return 0
	}
	return max(1, int(math.Ceil(math.Log2(c/limit)/float64(8*size))))
}

// start sets the start value of a simple sum so that the frame fits. A start value of 0 is tried elsewhere and refused.
func (s *Spec) start(frame []byte) bool {
	_, want, got, short := s.Verify(frame)
	if short {
		return false
	}
	sum := s.Sum.(simple)
	switch sum.kind {
	case sum8:
		sum.init = (got - want) & 0xFF
	case sum8Twos:
		sum.init = (want - got) & 0xFF
	case xor8:
		sum.init = want ^ got
	}
	if sum.kind == sum8Twos && sum.init == 1 { // that is sum8-ones-complement
		return false
	}
	s.Sum = sum
	return sum.init != 0
}

// fits tells whether every frame verifies with at least one octet covered.
func (s *Spec) fits(frames [][]byte) bool {
	for _, f := range frames {
		if from, to, _, _, ok := s.place(len(f)); !ok || from == to {
			return false
		}
		if ok, _, _, _ := s.Verify(f); !ok {
			return false
		}
	}
	return true
}

// sameLast tells whether all frames end in the same octet.
func sameLast(frames [][]byte) bool {
	for _, f := range frames {
		if len(f) == 0 || len(frames[0]) == 0 || f[len(f)-1] != frames[0][len(frames[0])-1] {
			return false
		}
	}
	return true
}

// distinctFrames is the frames without repetition, in the order of their content.
func distinctFrames(frames [][]byte) [][]byte {
	d := slices.Clone(frames)
	slices.SortFunc(d, bytes.Compare)
	return slices.CompactFunc(d, bytes.Equal)
}
