package link

import (
	"linewitness/capture"
	"linewitness/capture/burst"
	"linewitness/decode/uart"
)

// Frames are the frames of one batch, in order of time. First holds for each the index of its first character in the
// Chars that it was cut from.
type Frames struct {
	Frames []Frame
	First  []int
	values []uint16
	octets []byte
}

// Reset empties f and keeps its storage.
func (f *Frames) Reset() {
	f.Frames, f.First, f.values, f.octets = f.Frames[:0], f.First[:0], f.values[:0], f.octets[:0]
}

// Cutter cuts characters into frames and checks each against the profile. It holds no state and may be shared.
type Cutter struct {
	p           *Profile
	gap, inside capture.Tick
	least, most int // characters
}

// NewCutter makes a cutter for a profile on a clock.
func NewCutter(p *Profile, c capture.Clock) *Cutter {
	k := &Cutter{p: p, gap: c.Ticks(p.Framing.Gap), inside: c.Ticks(p.Framing.Inside), least: 1, most: 4096}
	if p.Framing.Modbus {
		k.least, k.most = modbusLeast, modbusMost
	}
	return k
}

// BurstGap is the longest interval between two transitions of one frame: the silence that ends a frame and a character
// without an edge.
func (k *Cutter) BurstGap(d *uart.Decoder) capture.Tick {
	return k.gap + capture.Tick(k.p.Line.Format.Length()*d.Bit()) + 1
}

// Cut appends the frames of a decoded batch to dst.
func (k *Cutter) Cut(dst *Frames, chars *uart.Chars, b *burst.Batch) {
	from := 0
	for i := range b.Bursts {
		k.burst(dst, chars.Chars, from, chars.Ends[i], &b.Bursts[i])
		from = chars.Ends[i]
	}
}

// burst cuts the characters [from, to) of one burst, also where the level of space changes: it names the sender.
func (k *Cutter) burst(dst *Frames, chars []uart.Character, from, to int, s *burst.Span) {
	first := true
	for from < to {
		n := from + 1
		for n < to && chars[n].At-chars[n-1].End <= k.gap && chars[n].Space == chars[n-1].Space {
			n++
		}
		f := k.frame(dst, chars, from, n)
		if first && s.Begins {
			f.Begins = true
			if f.At-s.Before < k.gap && f.Why != 0 {
				f.Why = WhyCut // it may have begun before anything was known
			}
		}
		if s.Torn && n == to {
			f.Why = WhyCut
		}
		first = false
		from = n
	}
}

// frame appends one frame and checks it.
func (k *Cutter) frame(dst *Frames, chars []uart.Character, from, to int) *Frame {
	v0 := len(dst.values)
	for i := from; i < to; i++ {
		dst.values = append(dst.values, chars[i].Value)
		dst.octets = append(dst.octets, byte(chars[i].Value))
	}
	dst.First = append(dst.First, from)
	dst.Frames = append(dst.Frames, Frame{
		At: chars[from].At, End: chars[to-1].End, Turnaround: -1, DataBits: k.p.Line.Format.DataBits,
		Chars: chars[from:to:to], Values: dst.values[v0:len(dst.values):len(dst.values)],
	})
	f := &dst.Frames[len(dst.Frames)-1]
	f.Space = chars[from].Space
	f.Why = k.check(f, dst.octets[v0:])
	return f
}

// check finds the rules that a frame broke.
func (k *Cutter) check(f *Frame, octets []byte) (why Why) {
	var fault uart.Fault
	breaks := 0
	for i := range f.Chars {
		c := &f.Chars[i]
		fault |= c.Fault
		if c.Fault&uart.FaultBreak != 0 {
			breaks++
		}
		if k.inside > 0 && i > 0 && c.At-f.Chars[i-1].End > k.inside {
			why |= WhyTiming
		}
	}
	if fault&uart.FaultParity != 0 {
		why |= WhyParity
	}
	if fault&uart.FaultStop != 0 {
		why |= WhyStop
	}
	why |= k.shape(octets)
	if len(octets) < k.least || len(octets) > k.most || breaks == len(f.Chars) {
		why = WhyUnframed
	}
	if fault&uart.FaultCut != 0 && why != 0 {
		why = WhyCut
	}
	return why
}

// shape checks length and checksum.
func (k *Cutter) shape(octets []byte) (why Why) {
	if n := k.p.Framing.Fixed; n > 0 && len(octets) != n {
		why |= WhyLength
	}
	if k.p.Checksum == nil {
		return why
	}
	ok, _, _, short := k.p.Checksum.Verify(octets)
	switch {
	case short:
		why |= WhyLength
	case !ok:
		why |= WhyChecksum
		if k.p.Framing.Modbus && !modbusLength(octets) {
			why |= WhyLength
		}
	}
	return why
}
