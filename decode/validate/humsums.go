package validate

// humSums are the sums of a regression of values u on cosine and sine of a phase.
type humSums struct{ n, uu, uc, us, c, s, cc, cs float64 }

func (h *humSums) add(u, cos, sin float64) {
	h.n++
	h.uu += u * u
	h.uc += u * cos
	h.us += u * sin
	h.c += cos
	h.s += sin
	h.cc += cos * cos
	h.cs += cos * sin
}

// centre takes the means of cosine and sine off; the values have none left. Afterwards c holds the sum of squares of the sine.
func (h *humSums) centre() {
	ss := h.n - h.cc - h.s*h.s/h.n
	h.cc -= h.c * h.c / h.n
	h.cs -= h.c * h.s / h.n
	h.c, h.s = ss, 0
}

// plus adds sums that are centred too.
func (h *humSums) plus(o *humSums) {
	h.n += o.n
	h.uu += o.uu
	h.uc += o.uc
	h.us += o.us
	h.c += o.c
	h.cc += o.cc
	h.cs += o.cs
}

// humFit is the sinusoid that fits centred sums best.
type humFit struct {
	ok        bool    // phases are spread enough
	explained float64 // sum of squares
	square    float64 // of its amplitude
	trace     float64 // of the inverse normal equations: variance of both parts together, a unit variance of u
}

func (h *humSums) fit() (f humFit) {
	ss := h.c
	det := h.cc*ss - h.cs*h.cs
	if !(det > 0.01*h.n*h.n) {
		return f
	}
	a, b := (ss*h.uc-h.cs*h.us)/det, (h.cc*h.us-h.cs*h.uc)/det
	return humFit{true, a*h.uc + b*h.us, a*a + b*b, (h.cc + ss) / det}
}
