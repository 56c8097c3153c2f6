package validate

// choose puts the values of v so that the one of index k of their rising order stands there, smaller ones before it and larger ones
// after it (C. A. R. Hoare's Find, 1961).
func choose(v []float64, k int) float64 {
	for lo, hi := 0, len(v)-1; lo < hi; {
		pivot, i, j := v[lo+(hi-lo)/2], lo, hi
		for i <= j {
			for v[i] < pivot {
				i++
			}
			for v[j] > pivot {
				j--
			}
			if i <= j {
				v[i], v[j] = v[j], v[i]
				i, j = i+1, j-1
			}
		}
		if j < k {
			lo = i
		}
		if k < i {
			hi = j
		}
	}
	return v[k]
}
