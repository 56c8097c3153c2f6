package wav

import (
	"encoding/binary"
	"math"
)

// decoder turns samples into volts until dst is full or a sample is no finite number, and says how many it was. The
// samples start at the beginning of src, one every stride bytes; src must have them all. scale is the volts of a step.
type decoder func(dst []float64, src []byte, stride int, scale float64) int

// decoderOf is the decoder of samples of so many bytes and the steps to its 1.0; nil: there is none.
func decoderOf(float bool, width int) (d decoder, steps float64) {
	switch {
	case float && width == 4:
		return float32s, 1
	case float && width == 8:
		return float64s, 1
	case float:
		return nil, 0
	case width == 1:
		return pcm8, 1 << 7
	case width == 2:
		return pcm16, 1 << 15
	case width == 3:
		return pcm24, 1 << 31 // shifted up: its sign then is that of an int32
	case width == 4:
		return pcm32, 1 << 31
	}
	return nil, 0
}

func pcm8(dst []float64, src []byte, stride int, scale float64) int {
	at := 0
	for i := range dst {
		dst[i] = float64(int(src[at])-128) * scale
		at += stride
	}
	return len(dst)
}

func pcm16(dst []float64, src []byte, stride int, scale float64) int {
	at := 0
	for i := range dst {
		dst[i] = float64(int16(binary.LittleEndian.Uint16(src[at:]))) * scale
		at += stride
	}
	return len(dst)
}

func pcm24(dst []float64, src []byte, stride int, scale float64) int {
	at := 0
	for i := range dst {
		s := src[at : at+3 : at+3]
		dst[i] = float64(int32(uint32(s[0])<<8|uint32(s[1])<<16|uint32(s[2])<<24)) * scale
		at += stride
	}
	return len(dst)
}

func pcm32(dst []float64, src []byte, stride int, scale float64) int {
	at := 0
	for i := range dst {
		dst[i] = float64(int32(binary.LittleEndian.Uint32(src[at:]))) * scale
		at += stride
	}
	return len(dst)
}

func float32s(dst []float64, src []byte, stride int, scale float64) int {
	at := 0
	for i := range dst {
		v := float64(math.Float32frombits(binary.LittleEndian.Uint32(src[at:]))) * scale
		if v-v != 0 { // true for NaN and the infinities only
			return i
		}
		dst[i] = v
		at += stride
	}
	return len(dst)
}

func float64s(dst []float64, src []byte, stride int, scale float64) int {
	at := 0
	for i := range dst {
		v := math.Float64frombits(binary.LittleEndian.Uint64(src[at:])) * scale
		if v-v != 0 {
			return i
		}
		dst[i] = v
		at += stride
	}
	return len(dst)
}
