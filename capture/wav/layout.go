package wav

import (
	"encoding/binary"
	"math"
)

// appendHeader appends all that stands before the samples: always as many bytes for the same format. samples is -1
// while their number is not known. With reserve there is room for the 64-bit sizes, as EBU Tech 3306 proposes: a JUNK
// chunk that becomes ds64 where 32 bits are too few.
func (f Format) appendHeader(h []byte, reserve bool, samples int64) []byte {
	u16, u32, u64 := binary.LittleEndian.AppendUint16, binary.LittleEndian.AppendUint32, binary.LittleEndian.AppendUint64
	width := int64(f.Bits / 8)
	data := samples * width
	riff := f.headerSize(reserve) - 8 + data + data&1
	large := samples >= 0 && riff >= unset
	riff32, data32, samples32 := uint32(riff), uint32(data), uint32(min(samples, unset))
	if large || samples < 0 {
		riff32, data32 = unset, unset
	}
	if samples < 0 {
		samples32 = unset
	}
	if large {
		h = append(u32(append(h, "RF64"...), unset), "WAVEds64"...)
		h = u32(u64(u64(u64(u32(h, 28), uint64(riff)), uint64(data)), uint64(samples)), 0)
	} else {
		h = append(u32(append(h, "RIFF"...), riff32), "WAVE"...)
		if reserve {
			h = append(u32(append(h, "JUNK"...), 28), make([]byte, 28)...)
		}
	}
	codec, size := uint16(codecPCM), uint32(16)
	if f.Float {
		codec, size = codecFloat, 18
	}
	h = u16(u16(u32(append(h, "fmt "...), size), codec), 1)
	h = u32(u32(h, uint32(f.Rate)), uint32(min(f.Rate*width, math.MaxUint32)))
	h = u16(u16(h, uint16(width)), uint16(f.Bits))
	if f.Float {
		// Any codec but PCM has the size of what it adds, and a fact chunk with the number of samples.
		h = u16(h, 0)
		h = u32(u32(append(h, "fact"...), 4), samples32)
	}
	return u32(append(h, "data"...), data32)
}

// headerSize is how many bytes appendHeader appends.
func (f Format) headerSize(reserve bool) int64 {
	n := int64(12 + 8 + 16 + 8)
	if reserve {
		n += 8 + 28
	}
	if f.Float {
		n += 2 + 12
	}
	return n
}
