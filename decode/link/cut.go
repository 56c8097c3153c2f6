package link

import (
	"slices"

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
	check  *checker
	worked int // characters looked at, see resync.go
}

// Reset empties f and keeps its storage.
func (f *Frames) Reset() {
	f.Frames, f.First, f.values, f.octets = f.Frames[:0], f.First[:0], f.values[:0], f.octets[:0]
}

// most is the longest frame, in characters.
const most = 4096

// silentCharacters is the silence that ends a frame where a profile doesn't know it but knows other ends: it then only parts
// what belongs together from the next burst (Modbus over Serial Line V1.02, clause 2.5.1.1).
const silentCharacters = 3.5

// Cutter cuts characters into frames and checks each against the profile. It holds no state and may be shared.
type Cutter struct {
	p           *Profile
	gap, inside capture.Tick
	least, most int  // characters
	own         bool // frames end by another rule than silence
	direct      bool // without gopacket's parser, to measure what that costs
}

// NewCutter makes a cutter for a profile on a clock.
func NewCutter(p *Profile, c capture.Clock) *Cutter {
	f := &p.Framing
	k := &Cutter{p: p, gap: c.Ticks(f.Gap), inside: c.Ticks(f.Inside), least: 1, most: most}
	if f.Modbus {
		k.least, k.most = modbusLeast, modbusMost
		return k
	}
	k.own = f.Fixed > 0 || f.Length != nil || len(f.Start) > 0 || len(f.End) > 0 || f.Break
	if len(f.Start)+len(f.End) > 0 || f.Break {
		k.least = max(1, f.head()+f.tail())
	}
	if f.Gap == 0 && k.own && p.Line.Speed > 0 {
		k.gap = c.Ticks(silentCharacters * p.Line.Format.Length() / p.Line.Speed)
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
	dst.ready(k)
	from := 0
	for i := range b.Bursts {
		k.burst(dst, chars.Chars, from, chars.Ends[i], &b.Bursts[i])
		from = chars.Ends[i]
	}
}

// burst cuts the characters [from, to) of one burst into runs: at silences, and where the level of space changes, as it
// names the sender.
func (k *Cutter) burst(dst *Frames, chars []uart.Character, from, to int, s *burst.Span) {
	if from == to {
		return
	}
	first := len(dst.Frames)
	for from < to {
		n := from + 1
		for n < to && chars[n].At-chars[n-1].End <= k.gap && chars[n].Space == chars[n-1].Space {
			n++
		}
		k.run(dst, chars, from, n)
		from = n
	}
	if s.Begins {
		f := &dst.Frames[first]
		f.Begins = true
		if f.At-s.Before < k.gap && f.Why != 0 {
			f.Why = WhyCut // it may have begun before anything was known
		}
	}
	f := &dst.Frames[len(dst.Frames)-1]
	switch {
	case s.Torn && (f.Why != 0 || !k.own):
		f.Why = WhyCut
	case s.Ends && k.own && f.Why != 0 && s.Until-f.End < k.gap:
		f.Why = WhyCut // it may go on after all that is known
	}
}

// frame appends the frame of a run's characters [from, to), judged. It is filled where it lies: copying one costs as much as
// checking it.
func (r *run) frame(from, to int, octets []byte, why Why) {
	dst := r.dst
	dst.First = append(dst.First, r.first+from)
	n := len(dst.Frames)
	dst.Frames = slices.Grow(dst.Frames, 1)[:n+1]
	f := &dst.Frames[n]
	f.At, f.End, f.Turnaround = r.chars[from].At, r.chars[to-1].End, -1
	f.Side, f.Poll, f.Begins = capture.SideUnknown, false, false
	f.Chars, f.Values, f.Octets = r.chars[from:to:to], r.values[from:to:to], octets[:len(octets):len(octets)]
	f.Shape, f.DataBits, f.Space = dst.check.layer.Shape, r.k.p.Line.Format.DataBits, r.chars[from].Space
	f.Why = why
	if r.faulty || to-from < r.k.least || to-from > r.k.most {
		f.Why = r.k.judge(f.Chars, why)
	}
}

// judge adds the rules that a frame's characters broke to those that its octets broke.
func (k *Cutter) judge(chars []uart.Character, why Why) Why {
	var fault uart.Fault
	breaks := 0
	for i := range chars {
		c := &chars[i]
		if c.Fault&uart.FaultBreak != 0 {
			breaks++
		}
		if k.p.Framing.Break && i == 0 && c.Fault&uart.FaultBreak != 0 {
			fault |= c.Fault & uart.FaultCut // no stop element is missing, and a break has no parity
			continue
		}
		fault |= c.Fault
		if k.inside > 0 && i > 0 && c.At-chars[i-1].End > k.inside && !(k.p.Framing.Break && i == 1) {
			why |= WhyTiming // what a break is longer than a character is no silence
		}
	}
	if fault&uart.FaultParity != 0 {
		why |= WhyParity
	}
	if fault&uart.FaultStop != 0 {
		why |= WhyStop
	}
	if len(chars) < k.least || len(chars) > k.most || breaks == len(chars) {
		why = WhyUnframed
	}
	if fault&uart.FaultCut != 0 && why != 0 {
		why = WhyCut
	}
	return why
}
