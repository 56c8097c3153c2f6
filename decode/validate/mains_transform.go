package validate

import "math"

// prepare makes room for the transform.
func (s *mainsScan) prepare() {
	s.re, s.im = make([]float64, mainsPoints), make([]float64, mainsPoints)
	s.cos, s.sin = make([]float64, mainsPoints/2), make([]float64, mainsPoints/2)
	for k := range s.cos {
		s.sin[k], s.cos[k] = math.Sincos(2 * math.Pi * float64(k) / mainsPoints)
	}
}

// mainsTransform is the discrete Fourier transform in place, sum of x exp(-2 pi i k n/N); the length is a power of 2.
func mainsTransform(re, im, cos, sin []float64) {
	n := len(re)
	for i, j := 1, 0; i < n; i++ {
		bit := n >> 1
		for ; j&bit != 0; bit >>= 1 {
			j ^= bit
		}
		if j ^= bit; i < j {
			re[i], re[j] = re[j], re[i]
			im[i], im[j] = im[j], im[i]
		}
	}
	for size := 2; size <= n; size <<= 1 {
		half, step := size/2, n/size
		for start := 0; start < n; start += size {
			for k := range half {
				c, s := cos[k*step], -sin[k*step]
				i, j := start+k, start+k+half
				tr, ti := re[j]*c-im[j]*s, re[j]*s+im[j]*c
				re[j], im[j] = re[i]-tr, im[i]-ti
				re[i], im[i] = re[i]+tr, im[i]+ti
			}
		}
	}
}
