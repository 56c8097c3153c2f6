package wav

import (
	"encoding/binary"
	"fmt"
	"strconv"

	"linewitness/capture"
)

// The codecs of RFC 2361 that are read, and the one that says: see the GUID.
const (
	codecPCM        = 0x0001
	codecFloat      = 0x0003
	codecExtensible = 0xFFFE
)

// extensibleGUID is what follows the codec in the GUID of codec FFFE, for all codecs that have a number.
const extensibleGUID = "\x00\x00\x00\x00\x10\x00\x80\x00\x00\xAA\x00\x38\x9B\x71"

// format is a fmt chunk.
type format struct {
	codec, channels, align, bits int
	rate                         int64
	at                           int64 // of its first field in the file
}

// readFormat reads a fmt chunk. Bytes a second are not looked at: they are often wrong and nothing depends on them.
func (r *Reader) readFormat(c chunk) (*format, error) {
	const shortest, extensible = 16, 40
	if c.size < shortest {
		return nil, r.bad(c.at+4, "a fmt chunk of at least 16 bytes", fmt.Sprint(c.size))
	}
	read := int(min(c.size, extensible))
	h, err := r.take(read, "a fmt chunk of "+count(int64(c.size), "byte"))
	if err != nil {
		return nil, err
	}
	u16 := func(at int) int { return int(binary.LittleEndian.Uint16(h[at:])) }
	f := &format{codec: u16(0), channels: u16(2), rate: int64(binary.LittleEndian.Uint32(h[4:])), align: u16(12), bits: u16(14), at: c.at + 8}
	if f.codec == codecExtensible {
		if read < extensible {
			return nil, r.bad(c.at+4, "a fmt chunk of at least 40 bytes for codec 0xFFFE", fmt.Sprint(c.size))
		}
		if string(h[26:40]) != extensibleGUID {
			return nil, r.unsupported(fmt.Sprintf("codec %x (a GUID)", h[24:40]))
		}
		if f.codec = u16(24); u16(18) > f.bits {
			return nil, r.bad(f.at+18, "at most "+count(int64(f.bits), "valid bit"), fmt.Sprint(u16(18)))
		}
	}
	if err := r.check(f); err != nil {
		return nil, err
	}
	return f, r.pass(c, read)
}

// check tells what contradicts itself in a fmt chunk, or can't be read.
func (r *Reader) check(f *format) error {
	width := (f.bits + 7) / 8 // a sample fills whole bytes
	d, _ := decoderOf(f.codec == codecFloat, width)
	switch {
	case f.codec != codecPCM && f.codec != codecFloat:
		return r.unsupported(fmt.Sprintf("codec 0x%04X%s, only 0x0001 (PCM) and 0x0003 (floating point) are", f.codec, codecName(f.codec)))
	case f.channels == 0:
		return r.bad(f.at+2, "at least 1 channel", "0")
	case f.rate == 0:
		return r.bad(f.at+4, "at least 1 sample a second", "0")
	case f.bits == 0:
		return r.bad(f.at+14, "at least 1 bit a sample", "0")
	case f.align != f.channels*width:
		expected := fmt.Sprintf("%d bytes for %s of %s", f.channels*width, count(int64(f.channels), "channel"), count(int64(f.bits), "bit"))
		return r.bad(f.at+12, expected, strconv.Itoa(f.align))
	case f.codec == codecFloat && (d == nil || f.bits%8 != 0):
		return r.unsupported(fmt.Sprintf("floating point of %d bits, only 32 and 64 are", f.bits))
	case d == nil:
		return r.unsupported(fmt.Sprintf("PCM of %d bits, only 1 to 32 are", f.bits))
	}
	return nil
}

// codecName is what some codecs of RFC 2361 are called.
func codecName(codec int) string {
	switch codec {
	case 0x0002, 0x0011:
		return " (ADPCM)"
	case 0x0006:
		return " (A-law)"
	case 0x0007:
		return " (mu-law)"
	case 0x0055:
		return " (MPEG layer 3)"
	}
	return ""
}

func (r *Reader) unsupported(what string) error {
	return &capture.UnsupportedError{Name: r.info.Name, What: "WAV of " + what}
}

// use prepares the reading of a channel, from 1; 0 is the only one.
func (r *Reader) use(f *format, channel int) error {
	switch {
	case channel == 0 && f.channels > 1:
		expected := fmt.Sprintf("1 channel, or the number of the channel to read (1 to %d)", f.channels)
		return r.bad(f.at+2, expected, count(int64(f.channels), "channel"))
	case channel == 0:
		channel = 1
	case channel < 0 || channel > f.channels:
		return r.bad(f.at+2, "channel "+strconv.Itoa(channel), count(int64(f.channels), "channel"))
	}
	width := f.align / f.channels
	var steps float64
	r.info.Clock = capture.Clock{Num: f.rate * ticksPerSample, Den: 1}
	r.decode, steps = decoderOf(f.codec == codecFloat, width)
	r.align, r.inside, r.scale = f.align, (channel-1)*width, r.info.FullScale/steps
	return nil
}
