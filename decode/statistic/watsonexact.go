package statistic

// outcomesWithin tells whether n units can be dealt out of the pool in no more
// than limit different ways, units at one place being alike.
func outcomesWithin(pool []int, n, limit int) bool {
	if n > limit {
		return false
	}
	ways := make([]int, n+1)
	ways[0] = 1
	for _, t := range pool {
		// ways[k] becomes the sum of ways[k-t..k]: a running sum from the top.
		next, sum := make([]int, n+1), 0
		for k := range ways {
			sum += ways[k]
			if k > t {
				sum -= ways[k-t-1]
			}
			next[k] = min(sum, limit+1)
			if sum > 1<<40 {
				return false
			}
		}
		ways = next
	}
	return ways[n] <= limit
}

// watsonExact sums the probability of all outcomes with U2 of at least limit.
type watsonExact struct {
	pool  []int
	n, m  int
	limit float64

	room  []int       // units in the places from i on
	mass  [][]float64 // of k units at place i, as if places were independent
	scale float64     // of that, given n units in all
	sum   float64
}

func (e *watsonExact) p() float64 {
	e.room = make([]int, len(e.pool)+1)
	e.mass = make([][]float64, len(e.pool))
	N := float64(e.n + e.m)
	p, q := float64(e.n)/N, float64(e.m)/N
	for i := len(e.pool) - 1; i >= 0; i-- {
		e.room[i] = e.room[i+1] + e.pool[i]
		for k := range min(e.pool[i], e.n) + 1 {
			e.mass[i] = append(e.mass[i], binomialMass(float64(k), float64(e.pool[i]), p, q))
		}
	}
	e.scale = 1 / binomialMass(float64(e.n), N, p, q)
	e.deal(0, 0, 0, 0, 1)
	return clamp01(e.sum * e.scale)
}

// deal goes through all counts at place i and after it: dealt units so far, the
// sums of the statistic so far, and the mass of that.
func (e *watsonExact) deal(i, dealt int, s1, s2, mass float64) {
	n, m := float64(e.n), float64(e.m)
	N := n + m
	if i == len(e.pool) {
		if n*m/(N*N)*(s2-s1*s1/N) >= e.limit {
			e.sum += mass
		}
		return
	}
	t, seen := float64(e.pool[i]), float64(e.room[0]-e.room[i+1])
	left := e.n - dealt
	for k := max(0, left-e.room[i+1]); k <= min(e.pool[i], left); k++ {
		d := float64(dealt+k)*N/(n*m) - seen/m
		e.deal(i+1, dealt+k, s1+t*d, s2+t*d*d, mass*e.mass[i][k])
	}
}
