package wav

import (
	"encoding/binary"
	"math"
)

// encoder writes volts to dst, which has room for them, and says how many it wrote and how many of those lay beyond what
// the format holds. An encoder of integers stops at a NaN.
type encoder func(dst []byte, volts []float64, fullScale float64) (done int, clipped int64)

func encoderOf(float bool, bits int) encoder {
	switch {
	case float && bits == 32:
		return toFloat32
	case float:
		return toFloat64
	}
	return func(dst []byte, volts []float64, fullScale float64) (int, int64) {
		return toPCM(dst, volts, fullScale, bits)
	}
}

func toPCM(dst []byte, volts []float64, fullScale float64, bits int) (done int, clipped int64) {
	steps := float64(int64(1) << (bits - 1))
	for i, v := range volts {
		q := math.RoundToEven(v / fullScale * steps)
		switch {
		case q != q:
			return i, clipped
		case q > steps-1:
			q = steps - 1
			clipped++
		case q < -steps:
			q = -steps
			clipped++
		}
		code := uint32(int32(q))
		switch bits {
		case 8:
			dst[i] = byte(code + 128)
		case 16:
			binary.LittleEndian.PutUint16(dst[2*i:], uint16(code))
		case 24:
			d := dst[3*i : 3*i+3]
			d[0], d[1], d[2] = byte(code), byte(code>>8), byte(code>>16)
		default:
			binary.LittleEndian.PutUint32(dst[4*i:], code)
		}
	}
	return len(volts), clipped
}

func toFloat32(dst []byte, volts []float64, fullScale float64) (done int, clipped int64) {
	for i, v := range volts {
		// Where rounding would make an infinity of a finite number, it is clipped.
		f := float32(v / fullScale)
		if f-f != 0 && v-v == 0 {
			f = float32(math.Copysign(math.MaxFloat32, v))
			clipped++
		}
		binary.LittleEndian.PutUint32(dst[4*i:], math.Float32bits(f))
	}
	return len(volts), clipped
}

func toFloat64(dst []byte, volts []float64, fullScale float64) (done int, clipped int64) {
	for i, v := range volts {
		f := v / fullScale
		if f-f != 0 && v-v == 0 {
			f = math.Copysign(math.MaxFloat64, v)
			clipped++
		}
		binary.LittleEndian.PutUint64(dst[8*i:], math.Float64bits(f))
	}
	return len(volts), clipped
}
