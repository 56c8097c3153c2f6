package record

import (
	"encoding/binary"
	"math"
	"slices"

	"linewitness/capture"
)

// How values are kept: the byte before them.
const (
	voltsFloat64 = iota // 8 bytes each
	voltsFloat32        // 4 bytes each: no value needs more
	voltsSteps          // a float64, the step; then whole numbers: value = number * step
	voltsDecimal        // a float64, the divisor; then whole numbers: value = number / divisor
)

// appendVolts writes the samples' part of the body: instants, a byte of how values are kept, values.
func appendVolts(dst []byte, h *Header, b *capture.Block) []byte {
	h.Count = uint32(len(b.Volts))
	dst = appendTimes(dst, b.Start, b.SampleAt, true)
	if g, ok := findGrid(b.Volts); ok {
		return g.append(dst, b.Volts)
	}
	if slices.ContainsFunc(b.Volts, func(v float64) bool { return float64(float32(v)) != v }) {
		dst = slices.Grow(append(dst, voltsFloat64), 8*len(b.Volts))
		for _, v := range b.Volts {
			dst = binary.LittleEndian.AppendUint64(dst, math.Float64bits(v))
		}
		return dst
	}
	dst = slices.Grow(append(dst, voltsFloat32), 4*len(b.Volts))
	for _, v := range b.Volts {
		dst = binary.LittleEndian.AppendUint32(dst, math.Float32bits(float32(v)))
	}
	return dst
}

// readVolts is the inverse of appendVolts.
func readVolts(r *reader, h *Header, b *capture.Block) (err error) {
	n := int(h.Count)
	if n == 0 {
		return broken("samples", n)
	}
	if b.SampleAt, err = readTimes(r, b.SampleAt, n, h.Start, h.End, true); err != nil {
		return err
	}
	how := r.byte()
	switch how {
	case voltsFloat64:
		if p := r.take(n * 8); p != nil {
			b.Volts = slices.Grow(b.Volts[:0], n)[:n]
			for i := range b.Volts {
				b.Volts[i] = math.Float64frombits(binary.LittleEndian.Uint64(p[8*i:]))
			}
		}
	case voltsFloat32:
		if p := r.take(n * 4); p != nil {
			b.Volts = slices.Grow(b.Volts[:0], n)[:n]
			for i := range b.Volts {
				b.Volts[i] = float64(math.Float32frombits(binary.LittleEndian.Uint32(p[4*i:])))
			}
		}
	case voltsSteps, voltsDecimal:
		b.Volts, err = readGrid(r, b.Volts, n, how)
	default:
		r.bad = true
	}
	if err != nil {
		return err
	}
	if r.bad {
		return broken("values of samples", how)
	}
	return checkFinite(b.Volts)
}
