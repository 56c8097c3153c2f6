package validate

import (
	"bytes"
	"encoding/gob"
	"math"
	"slices"
)

// exactly is how many values a Sketch keeps as they are.
const exactly = 2048

// Sketch holds a distribution in bounded memory: the values themselves up to 2,048 of them, then counts in bins of
// 0.2 to 0.4 % of a value's size. Percentiles are by nearest rank. The zero value is empty.
type Sketch struct {
	values []float64
	bins   map[int32]int64
	n      int64
}

// Add takes one value; NaN is passed over.
func (s *Sketch) Add(v float64) {
	if v != v {
		return
	}
	s.n++
	if s.bins == nil && len(s.values) < exactly {
		s.values = append(s.values, v)
		return
	}
	if s.bins == nil {
		s.bins = map[int32]int64{}
		for _, w := range s.values {
			s.bins[bin(w)]++
		}
		s.values = nil
	}
	s.bins[bin(v)]++
}

// N is the number of values.
func (s *Sketch) N() int64 { return s.n }

// Percentile is the p-th percentile (0..100), NaN where empty.
func (s *Sketch) Percentile(p float64) float64 { return s.percentiles(p)[0] }

// percentiles are three at most.
func (s *Sketch) percentiles(p ...float64) (v [3]float64) {
	values := slices.Clone(s.values)
	keys := make([]int32, 0, len(s.bins))
	for k := range s.bins {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	for i, q := range p {
		rank := min(max(int64(math.Ceil(q/100*float64(s.n))), 1), s.n)
		switch {
		case s.n == 0:
			v[i] = math.NaN()
		case s.bins == nil:
			v[i] = choose(values, int(rank-1))
		default:
			v[i] = s.ranked(keys, rank)
		}
	}
	return v
}

// ranked is the value of a rank, from 1, by the bins in rising order.
func (s *Sketch) ranked(keys []int32, rank int64) float64 {
	var seen int64
	for _, k := range keys {
		if seen += s.bins[k]; seen >= rank {
			return middle(k)
		}
	}
	return math.NaN()
}

// lowest is the least size that counts; smaller ones are 0.
const lowest = 1e-9

// binBits are the bits of a float64 that its bin leaves out: it keeps the exponent and eight bits after it.
const binBits = 44

// zeroth is the bin below the first one, of the least size.
var zeroth = int32(math.Float64bits(lowest)>>binBits) - 1

// bin numbers sizes by their leading bits, negative ones mirrored.
func bin(v float64) int32 {
	a := math.Abs(v)
	if a < lowest {
		return 0
	}
	k := int32(math.Float64bits(a)>>binBits) - zeroth
	if v < 0 {
		return -k
	}
	return k
}

func middle(k int32) float64 {
	switch {
	case k == 0:
		return 0
	case k < 0:
		return -middle(-k)
	}
	return math.Float64frombits(uint64(k+zeroth)<<binBits | 1<<(binBits-1))
}

// sketched is a Sketch as it is stored.
type sketched struct {
	Values []float64
	Bins   map[int32]int64
	N      int64
}

// GobEncode stores a sketch, so that facts can be kept and weighed again later.
func (s Sketch) GobEncode() ([]byte, error) {
	var b bytes.Buffer
	err := gob.NewEncoder(&b).Encode(sketched{s.values, s.bins, s.n})
	return b.Bytes(), err
}

// GobDecode reads what GobEncode stored.
func (s *Sketch) GobDecode(b []byte) error {
	var d sketched
	if err := gob.NewDecoder(bytes.NewReader(b)).Decode(&d); err != nil {
		return err
	}
	s.values, s.bins, s.n = d.Values, d.Bins, d.N
	return nil
}
