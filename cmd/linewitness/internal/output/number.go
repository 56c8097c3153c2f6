package output

import (
	"math"
	"math/big"
	"math/bits"
	"strconv"

	"linewitness/capture"
)

// digits is how many significant digits of a measured quantity are kept: far more than any clock gives, few enough
// that 0.0123 s is 12.3 ms and not 12.299999999999999.
const digits = 12

// number is a measured quantity; NaN and the infinities were not measured and become null.
type number float64

func (n number) MarshalJSON() ([]byte, error) { return appendNumber(nil, float64(n)), nil }

func appendNumber(dst []byte, v float64) []byte {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return append(dst, "null"...)
	}
	v = rounded(v)
	if a := math.Abs(v); a != 0 && (a < 1e-6 || a >= 1e21) {
		return strconv.AppendFloat(dst, v, 'e', -1, 64)
	}
	return strconv.AppendFloat(dst, v, 'f', -1, 64)
}

func rounded(v float64) float64 {
	if v == 0 {
		return 0 // also -0
	}
	var text [32]byte
	r, err := strconv.ParseFloat(string(strconv.AppendFloat(text[:0], v, 'e', digits-1, 64)), 64)
	if err != nil {
		return v // rounded up beyond the largest float
	}
	return r
}

// moment is an instant or a span of a recording, in seconds.
type moment struct {
	at    capture.Tick
	clock capture.Clock
}

func (m moment) MarshalJSON() ([]byte, error) { return appendSeconds(nil, m.at, m.clock), nil }

// appendSeconds writes t in seconds without an exponent: exactly where a tick is a power of ten of a second, else the
// shortest decimal that stands for the correctly rounded quotient. An invalid clock gives null.
func appendSeconds(dst []byte, t capture.Tick, c capture.Clock) []byte {
	if !c.Valid() {
		return append(dst, "null"...)
	}
	if c.Den == 1 {
		if places, ok := decimalPlaces(c.Num); ok {
			return appendDecimal(dst, t, uint64(c.Num), places)
		}
	}
	return strconv.AppendFloat(dst, quotient(t, c), 'f', -1, 64)
}

// decimalPlaces is the n of 10^n.
func decimalPlaces(num int64) (n int, ok bool) {
	for num > 1 && num%10 == 0 {
		num /= 10
		n++
	}
	return n, num == 1
}

func appendDecimal(dst []byte, t capture.Tick, perSecond uint64, places int) []byte {
	u := uint64(t)
	if t < 0 {
		dst = append(dst, '-')
		u = -u
	}
	dst = strconv.AppendUint(dst, u/perSecond, 10)
	rest := u % perSecond
	if rest == 0 {
		return dst
	}
	dst = append(dst, '.')
	at := len(dst)
	for range places {
		dst = append(dst, '0')
	}
	end := len(dst)
	for i := end - 1; i >= at; i-- {
		dst[i] = '0' + byte(rest%10)
		rest /= 10
	}
	for dst[end-1] == '0' {
		end--
	}
	return dst[:end]
}

// quotient is t*Den/Num, rounded once.
func quotient(t capture.Tick, c capture.Clock) float64 {
	const exact = 1 << 53 // integers up to here are floats
	size := uint64(t)
	if t < 0 {
		size = -size
	}
	if hi, lo := bits.Mul64(size, uint64(c.Den)); hi == 0 && lo < exact && c.Num < exact {
		q := float64(lo) / float64(c.Num)
		if t < 0 && q != 0 {
			q = -q
		}
		return q
	}
	num := new(big.Int).Mul(big.NewInt(int64(t)), big.NewInt(c.Den))
	q, _ := new(big.Rat).SetFrac(num, big.NewInt(c.Num)).Float64()
	return q
}
