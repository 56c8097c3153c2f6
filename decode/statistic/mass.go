package statistic

import "math"

// Masses of the binomial and the Poisson distribution in Loader's form (C.
// Loader, Fast and accurate computation of binomial probabilities, 2000): the
// Stirling error and the deviance are summed apart, so that counts of 1e12 lose
// no digits, where differences of log gamma lose n times the rounding.

// stirlingError is log(n!) less Stirling's formula for it. Below 16 by the
// definition over log gamma, above by the series of Bernoulli numbers.
func stirlingError(n float64) float64 {
	if n < 16 {
		return lgamma(n+1) - (n+0.5)*math.Log(n) + n - 0.5*math.Log(2*math.Pi)
	}
	s := 1 / (n * n)
	return (1.0/12 - s*(1.0/360-s*(1.0/1260-s*(1.0/1680-s/1188)))) / n
}

// deviance is x*log(x/m) + m - x, without cancellation where x is close to m.
func deviance(x, m float64) float64 {
	if math.Abs(x-m) >= 0.1*(x+m) {
		return x*math.Log(x/m) + m - x
	}
	v := (x - m) / (x + m)
	sum, term := (x-m)*v, 2*x*v
	for j := 1; j < 1000; j++ {
		term *= v * v
		next := sum + term/float64(2*j+1)
		if next == sum {
			break
		}
		sum = next
	}
	return sum
}

// binomialMass is P(X = x) of n trials of probability p; q = 1-p is given apart
// so that a p close to 1 loses nothing. x and n need not be whole.
func binomialMass(x, n, p, q float64) float64 {
	switch {
	case x < 0 || x > n:
		return 0
	case p <= 0:
		return indicator(x == 0)
	case q <= 0:
		return indicator(x == n)
	case x == 0:
		return math.Exp(n * logOf(q, p))
	case x == n:
		return math.Exp(n * logOf(p, q))
	}
	y := n - x
	l := stirlingError(n) - stirlingError(x) - stirlingError(y) - deviance(x, n*p) - deviance(y, n*q)
	return math.Exp(l) * math.Sqrt(n/(2*math.Pi*x*y))
}

// logOf is log(p), taken from 1-p = q where p is close to 1.
func logOf(p, q float64) float64 {
	if q < 0.5 {
		return math.Log1p(-q)
	}
	return math.Log(p)
}

// poissonMass is P(X = x) of mean m.
func poissonMass(x, m float64) float64 {
	switch {
	case x < 0:
		return 0
	case m == 0:
		return indicator(x == 0)
	case x == 0:
		return math.Exp(-m)
	}
	return math.Exp(-stirlingError(x)-deviance(x, m)) / math.Sqrt(2*math.Pi*x)
}

func indicator(yes bool) float64 {
	if yes {
		return 1
	}
	return 0
}
