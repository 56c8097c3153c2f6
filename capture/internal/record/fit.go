package record

import (
	"math"
	"math/bits"
	"slices"

	"linewitness/capture"
)

// The encoder looks at so many intervals, spread over the record in pairs, to find good units. Whatever it finds is
// right: units only make the record shorter.
const (
	fitIntervals = 256
	fewIntervals = 6       // too few to pay for the parameters
	fitLongest   = 1 << 38 // ticks: sums of longer ones could overflow
	fitUnits     = 12      // longer intervals are pauses and say nothing about the unit
)

// fit holds the sample of intervals.
type fit struct {
	d      [fitIntervals]uint64 // after even transitions at even places
	n      int
	sorted [2][fitIntervals / 2]uint64 // those after even and those after odd transitions
}

// findUnits is the cheapest of some likely units; not ok: plain varints are.
func findUnits(at []capture.Tick) (best units, ok bool) {
	if len(at) <= fewIntervals {
		return best, false
	}
	var f fit
	f.sample(at)
	cheapest := f.plainBits()
	for _, start := range f.candidates() {
		u := f.refine(start)
		if cost := f.choose(&u); cost < cheapest {
			best, cheapest, ok = u, cost, true
		}
	}
	return best, ok
}

// sample takes pairs of intervals, evenly spread.
func (f *fit) sample(at []capture.Tick) {
	pairs := (len(at) - 1) / 2
	take := min(pairs, fitIntervals/2)
	for j := range take {
		i := j * pairs / take * 2
		f.d[2*j] = uint64(at[i+1]) - uint64(at[i])
		f.d[2*j+1] = uint64(at[i+2]) - uint64(at[i+1])
	}
	f.n = 2 * take
	for i, d := range f.d[:f.n] {
		f.sorted[i&1][i/2] = d
	}
	slices.Sort(f.sorted[0][:take])
	slices.Sort(f.sorted[1][:take])
}

// plainBits is what the sample takes as varints, less what the parameters of units take.
func (f *fit) plainBits() (sum int) {
	for _, d := range f.d[:f.n] {
		sum += 8 * ((bits.Len64(d-1|1) + 6) / 7)
	}
	return sum - 8*10
}

// candidates are where to start from: the shortest common interval is one unit, or two, or three (a line may send few
// single bits), or there is no unit and all lie about their median.
func (f *fit) candidates() (c [4]units) {
	var one [2]int64
	for odd := range one {
		s := f.sorted[odd][:f.n/2]
		c[3].base[odd] = int64(min(s[len(s)/2], maxBase>>fraction/2)) << fraction
		short := s[len(s)/20]
		near, _ := slices.BinarySearch(s, short+short/2+1)
		one[odd] = int64(min(s[near/2], fitLongest)) << fraction
	}
	mean := (one[0] + one[1]) / 2
	for i := range int64(3) {
		u := &c[i]
		u.unit = mean / (i + 1)
		u.base = [2]int64{one[0] - i*u.unit, one[1] - i*u.unit}
	}
	return c
}

// refine fits the unit and both bases to the sample: a straight line of one slope for both sorts of intervals.
func (f *fit) refine(u units) units {
	for range 2 {
		if u.unit < 2 {
			return units{base: u.base}
		}
		var s [2]sums
		for i, d := range f.d[:f.n] {
			if m := u.multiple(d, i&1); m > 0 {
				s[i&1].add(m, int64(d))
			}
		}
		next := units{unit: s[0].slope(&s[1], u.unit)}
		for odd := range s {
			next.base[odd] = u.base[odd]
			if s[odd].n > 0 {
				next.base[odd] = s[odd].at(1, next.unit)
			}
		}
		if next.unit < 0 || next.unit > fitLongest<<fraction {
			return u
		}
		u = next
	}
	return u
}

// multiple is the number of units nearest to d, 0 where d is too long.
func (u *units) multiple(d uint64, odd int) int64 {
	if d >= fitLongest {
		return 0
	}
	m := max((int64(d)<<fraction-u.base[odd]+u.unit*3/2)/u.unit, 1)
	if m > fitUnits {
		return 0
	}
	return m
}

// sums of a least-squares line through (m, d). All stay below 2^58.
type sums struct{ n, m, d, mm, md int64 }

func (s *sums) add(m, d int64) {
	s.n, s.m, s.d, s.mm, s.md = s.n+1, s.m+m, s.d+d, s.mm+m*m, s.md+m*d
}

// slope is that of both lines together, in 1/256; was, where the points say nothing.
func (s *sums) slope(o *sums, was int64) int64 {
	// Each term is a covariance times the number of points squared.
	with := func(s *sums) (cov, dev float64) {
		if s.n == 0 {
			return 0, 0
		}
		return float64(s.n*s.md-s.m*s.d) / float64(s.n), float64(s.n*s.mm-s.m*s.m) / float64(s.n)
	}
	cov, dev := with(s)
	cov2, dev2 := with(o)
	if dev+dev2 == 0 {
		return was
	}
	return int64(math.Round((cov + cov2) / (dev + dev2) * (1 << fraction)))
}

// at is the line's value at m, in 1/256.
func (s *sums) at(m, slope int64) int64 {
	middle := int64(math.Round(float64(s.d) / float64(s.n) * (1 << fraction)))
	return middle + int64(math.Round((float64(m)-float64(s.m)/float64(s.n))*float64(slope)))
}

// choose sets the Rice parameters that are best for the sample and returns what it then takes, in bits.
func (f *fit) choose(u *units) int {
	var m, z [fitIntervals]uint64
	u.km, u.k = maxKM, [2]uint{maxRice, maxRice} // so that all that can fits
	inverse := u.inverse()
	var n, long int
	var sumM uint64
	var sumZ, count [2]uint64
	for i, d := range f.d[:f.n] {
		var ok bool
		if m[n], z[n], ok = u.split(d, i&1, inverse); !ok {
			long += maxUnits + 1 + 6 + bits.Len64(d)
			continue
		}
		sumM += m[n]
		sumZ[i&1] += z[n]
		count[i&1]++
		z[n] = z[n]<<1 | uint64(i&1)
		n++
	}
	u.km = bestRice(uint64(n), sumM, maxKM, m[:n], -1)
	for odd := range u.k {
		u.k[odd] = bestRice(count[odd], sumZ[odd], maxRice, z[:n], odd)
	}
	return long + u.bits(m[:n], z[:n])
}

// bits is what m and z<<1|odd take.
func (u *units) bits(m, z []uint64) (sum int) {
	for i := range m {
		k, v := u.k[z[i]&1], z[i]>>1
		if m[i] >= maxUnits<<u.km || v>>k > maxZeros {
			sum += maxUnits + 1 + 6 + 32
			continue
		}
		sum += int(m[i]>>u.km) + 1 + int(u.km) + int(v>>k) + 1 + int(k)
	}
	return sum
}

// bestRice is the parameter, of three about the usual guess from the mean, that makes the values shortest. Values are
// v<<1|odd and only those with that oddness count; odd -1: all, as they stand.
func bestRice(n, sum uint64, most uint, values []uint64, odd int) uint {
	if n == 0 {
		return 0
	}
	guess := bits.Len64(sum / n)
	best, cheapest := uint(0), math.MaxInt
	for k := uint(max(guess-2, 0)); k <= min(uint(guess), most); k++ {
		cost := 0
		for _, v := range values {
			if odd >= 0 {
				if v&1 != uint64(odd) {
					continue
				}
				v >>= 1
			}
			cost += int(min(v>>k, 64)) + int(k)
		}
		if cost < cheapest {
			best, cheapest = k, cost
		}
	}
	if cheapest == math.MaxInt {
		return most
	}
	return best
}
