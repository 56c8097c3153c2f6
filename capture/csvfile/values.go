package csvfile

import (
	"math"
	"strconv"

	"linewitness/capture"
)

const (
	badTime  = "a time in seconds such as 0.000104167"
	timeSpan = "a time within 9223372036 s of zero"
)

// nanoseconds reads a decimal number of seconds exactly; digits beyond the ninth round half away from zero. fault is
// what was expected where that fails.
func nanoseconds(s []byte) (t capture.Tick, fault string) {
	i, negative := 0, false
	if len(s) > 0 && (s[0] == '-' || s[0] == '+') {
		negative = s[0] == '-'
		i = 1
	}
	// Up to 9 digits on either side of the point: nearly every time there is.
	var whole, frac int64
	unsigned, from := s[i:], i
	for ; i < len(s) && s[i]-'0' <= 9; i++ {
		whole = whole*10 + int64(s[i]-'0')
		if i-from >= 9 {
			return slowNanoseconds(unsigned, negative)
		}
	}
	digits := i - from
	if i < len(s) && s[i] == '.' {
		i++
		from := i
		for ; i < len(s) && s[i]-'0' <= 9; i++ {
			if i-from >= 9 {
				return slowNanoseconds(unsigned, negative)
			}
			frac = frac*10 + int64(s[i]-'0')
		}
		digits += i - from
		frac *= powers[9-(i-from)]
	}
	if i < len(s) || digits == 0 {
		return slowNanoseconds(unsigned, negative)
	}
	t = capture.Tick(whole*1e9 + frac)
	if negative {
		t = -t
	}
	return t, ""
}

var powers = [10]int64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9}

// slowNanoseconds reads an unsigned number of any length, perhaps with an exponent.
func slowNanoseconds(s []byte, negative bool) (t capture.Tick, fault string) {
	mantissa, exponent, ok := splitExponent(s)
	if !ok {
		return 0, badTime
	}
	point := len(mantissa)
	digits := 0
	for i, c := range mantissa {
		switch {
		case c == '.' && point == len(mantissa):
			point = i
		case c-'0' <= 9:
			digits++
		default:
			return 0, badTime
		}
	}
	if digits == 0 {
		return 0, badTime
	}
	// The number is 0.DIGITS times ten to the point; nanoseconds are the first wanted digits, the next one rounds.
	wanted := point + exponent + 9
	var n int64
	at := 0
	for _, c := range mantissa {
		if c == '.' {
			continue
		}
		d := int64(c - '0')
		if at == wanted && d >= 5 {
			d = 1
		} else if at >= wanted {
			break
		} else if n > (math.MaxInt64-d)/10 {
			return 0, timeSpan
		} else {
			n *= 10
		}
		if n > math.MaxInt64-d {
			return 0, timeSpan
		}
		n += d
		at++
	}
	for ; at < wanted && n > 0; at++ {
		if n > math.MaxInt64/10 {
			return 0, timeSpan
		}
		n *= 10
	}
	if negative {
		n = -n
	}
	return capture.Tick(n), ""
}

// splitExponent takes e-3 off a number. Exponents beyond a record's length can only give 0 or too much.
func splitExponent(s []byte) (mantissa []byte, exponent int, ok bool) {
	for i, c := range s {
		if c|0x20 != 'e' {
			continue
		}
		mantissa, s = s[:i], s[i+1:]
		negative := len(s) > 0 && s[0] == '-'
		if len(s) > 0 && (s[0] == '-' || s[0] == '+') {
			s = s[1:]
		}
		if len(s) == 0 {
			return nil, 0, false
		}
		for _, c := range s {
			if c < '0' || c > '9' {
				return nil, 0, false
			}
			exponent = min(exponent*10+int(c-'0'), 2*longestRecord)
		}
		if negative {
			exponent = -exponent
		}
		return mantissa, exponent, true
	}
	return s, 0, true
}

// parseLevel reads a level; why tells what is lost where it is none.
func parseLevel(s []byte) (l capture.Level, why capture.GapWhy, ok bool) {
	if len(s) == 1 {
		switch s[0] {
		case '0':
			return capture.Low, 0, true
		case '1':
			return capture.High, 0, true
		case 'x', 'X':
			return 0, capture.GapUnknown, true
		case 'z', 'Z':
			return 0, capture.GapFloating, true
		}
		return 0, 0, false
	}
	var lower [8]byte
	if len(s) > len(lower) {
		return 0, 0, false
	}
	for i, c := range s {
		lower[i] = c | 0x20
	}
	switch string(lower[:len(s)]) {
	case "", "unknown":
		return 0, capture.GapUnknown, true
	case "low":
		return capture.Low, 0, true
	case "mid":
		return capture.Mid, 0, true
	case "high":
		return capture.High, 0, true
	}
	return 0, 0, false
}

// parseVolts reads a finite decimal number.
func parseVolts(s []byte) (v float64, ok bool) {
	for _, c := range s {
		if (c < '0' || c > '9') && c != '.' && c != '-' && c != '+' && c|0x20 != 'e' {
			return 0, false
		}
	}
	v, err := strconv.ParseFloat(string(s), 64)
	return v, err == nil
}
