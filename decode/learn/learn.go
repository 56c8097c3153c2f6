// Package learn makes a link profile from the beginning of a recording: speed, format and polarity, what silence ends a
// frame, the checksum, and how long a reply takes to begin.
package learn

import (
	"math"
	"slices"

	"linewitness/capture"
	"linewitness/capture/burst"
	"linewitness/decode/checksum"
	"linewitness/decode/link"
	"linewitness/decode/uart"
)

// acceptChance is the largest chance at which a checksum found by search is believed.
const acceptChance = 1e-6

// Known is what is known of a link before it is learned. The zero value: nothing, and levels are two.
type Known struct {
	Kind    link.Kind
	Upright bool // high, or current, is mark; always so where there are three levels
	Levels  int  // 3: mark is the mid level of a loop, or the bias of an idle pair
}

// spaces are the levels that are space, 0 where there are only two.
func (k Known) spaces() uart.Spaces {
	switch {
	case k.Levels < 3:
		return 0
	case k.Kind == link.TwoWire:
		return uart.Below
	}
	return uart.Below | uart.Above
}

// Learn makes a profile from the first blocks of a recording, and gives uart.ErrNoTalk where there is too little.
func Learn(head []capture.Block, c capture.Clock, k Known) (*link.Profile, error) {
	best, either, err := reading(talk(head), c, k)
	if err != nil {
		return nil, err
	}
	best.Line.Mid = k.spaces() == uart.Below|uart.Above
	measured := best.Speed
	line := best.Line
	line.Speed = uart.StandardSpeed(measured)
	chars := decode(head, c, best.Line, k.spaces(), either)
	p := framing(chars, line, measured, c)
	p.Measured, p.Learned = measured, true
	p.Equivalent = append(p.Equivalent, best.Equivalent...)
	p.Spaces, p.Either = k.spaces(), k.Kind == link.TwoWire
	if k.Kind != link.KindUnknown {
		p.Kind = k.Kind
	}
	return p, nil
}

// talk joins the head's transitions up to the first gap that has enough before it, so that a lost interval makes no
// pulse.
func talk(head []capture.Block) (t capture.Transitions) {
	for i := range head {
		b := &head[i]
		if b.Gap.Present() {
			if len(t.At) >= 2000 {
				return t
			}
			if len(t.At) < 200 {
				t = capture.Transitions{}
			}
		}
		t.At, t.To = append(t.At, b.At...), append(t.To, b.To...)
	}
	return t
}

// decode reads all characters of the head.
func decode(head []capture.Block, c capture.Clock, l uart.Line, spaces uart.Spaces, either bool) []uart.Character {
	d := uart.NewDecoder(l, c)
	r := uart.NewReader(d, spaces, either)
	var chars uart.Chars
	gap := capture.Tick(2 * l.Format.Length() * d.Bit())
	cut := burst.New(gap, func() *burst.Batch { return new(burst.Batch) }, func(b *burst.Batch) error {
		r.Read(&chars, b)
		return nil
	})
	for i := range head {
		if cut.Add(&head[i]) != nil {
			break
		}
	}
	_ = cut.Flush() // emit above never fails
	return chars.Chars
}

// framing tries the built-in link first and cuts at silences otherwise.
func framing(chars []uart.Character, line uart.Line, measured float64, c capture.Clock) *link.Profile {
	real := line
	real.Speed = measured
	modbus := link.ModbusRTU(line)
	frames := cut(chars, c.Ticks(modbus.Framing.Gap))
	if good, of := verified(frames, modbus.Checksum); good >= 3 && good*3 >= of {
		timing(modbus, frames, c)
		if line.Mid {
			sides(modbus, frames, c)
		}
		return modbus
	}
	p := &link.Profile{Name: "learned", Line: line}
	p.Framing.Gap = silence(chars, real, c)
	frames = cut(chars, c.Ticks(p.Framing.Gap))
	if line.Mid {
		sides(p, frames, c)
	} else {
		timing(p, frames, c)
	}
	sum(p, frames)
	return p
}

// cut is a plain cut at silences, and where the level of space changes, which names the sender.
func cut(chars []uart.Character, gap capture.Tick) (frames [][]uart.Character) {
	from := 0
	for i := 1; i <= len(chars); i++ {
		if i == len(chars) || chars[i].At-chars[i-1].End > gap || chars[i].Space != chars[i-1].Space {
			frames = append(frames, chars[from:i])
			from = i
		}
	}
	return frames
}

func octets(f []uart.Character) (b []byte, clean bool) {
	clean = true
	for i := range f {
		b = append(b, byte(f[i].Value))
		clean = clean && f[i].Fault == 0 && f[i].Value < 256
	}
	return b, clean
}

func verified(frames [][]uart.Character, s *checksum.Spec) (good, of int) {
	for _, f := range frames {
		b, _ := octets(f)
		if len(b) < 4 {
			continue
		}
		of++
		if ok, _, _, _ := s.Verify(b); ok {
			good++
		}
	}
	return good, of
}

// silence finds the shortest silence that parts frames: in the first wide step in the sorted idle times between
// characters that ends above one character, and there at 1.5 characters at least if it is as wide as that; 3.5
// characters where there is none.
func silence(chars []uart.Character, l uart.Line, c capture.Clock) float64 {
	bit := c.PerSecond() / l.Speed
	var idle []float64
	for i := 1; i < len(chars); i++ {
		if chars[i].Space == chars[i-1].Space { // else another sender
			idle = append(idle, max(0.5, float64(chars[i].At-chars[i-1].End)/bit))
		}
	}
	slices.Sort(idle)
	for i := 1; i < len(idle); i++ {
		if idle[i] > l.Format.Length() && idle[i] > 2.5*idle[i-1] {
			return max(math.Sqrt(idle[i]*idle[i-1]), min(1.5*l.Format.Length(), 0.7*idle[i])) / l.Speed
		}
	}
	return 3.5 * l.Format.Length() / l.Speed
}

// timing parts the silences between frames into those before replies and those before polls: the widest step in
// their sorted logarithms that leaves a fifth of them on each side and is a factor of two at least.
func timing(p *link.Profile, frames [][]uart.Character, c capture.Clock) {
	var gaps, polls []float64
	for i := 1; i < len(frames); i++ {
		before := frames[i-1][len(frames[i-1])-1].End
		gaps = append(gaps, c.Seconds(frames[i][0].At-before))
	}
	limit, ok := step(gaps)
	if !ok {
		return
	}
	p.Timing.TurnaroundMax, p.Timing.TwoTalkers = limit, true
	p.Controller, p.Responder = capture.SideA, capture.SideB
	last := -1
	for i, g := range gaps {
		if g <= limit {
			continue
		}
		if last >= 0 {
			polls = append(polls, c.Seconds(frames[i+1][0].At-frames[last+1][0].At))
		}
		last = i
	}
	if len(polls) > 0 {
		slices.Sort(polls)
		p.Timing.PollPeriod = polls[len(polls)/2]
	}
}

func step(gaps []float64) (limit float64, ok bool) {
	if len(gaps) < 8 {
		return 0, false
	}
	s := slices.Clone(gaps)
	slices.Sort(s)
	best := 2.0
	for i := max(1, len(s)/5); i <= len(s)-max(1, len(s)/5); i++ {
		if i < len(s) && s[i-1] > 0 && s[i]/s[i-1] > best {
			best, limit = s[i]/s[i-1], math.Sqrt(s[i]*s[i-1])
		}
	}
	return limit, limit > 0
}

// sum searches for a checksum over clean frames: over all of them, over every second one in either phase (one talker's
// sum may be at fault), over the most frequent length, and over short runs (single frames may have been misread). What most
// frames fulfil is taken.
func sum(p *link.Profile, frames [][]uart.Character) {
	var clean [][]byte
	for _, f := range frames {
		if b, ok := octets(f); ok && len(b) >= 3 {
			clean = append(clean, b)
		}
	}
	most := 0
	for _, some := range append([][][]byte{clean, every(clean, 0), every(clean, 1), commonest(clean)}, runs(clean)...) {
		fits := believable(some)
		if len(fits) == 0 {
			continue
		}
		if n := fulfil(clean, &fits[0]); n > most {
			most = n
			p.Checksum, p.Equivalent = &fits[0], nil
			for _, f := range fits[1:min(len(fits), 5)] {
				p.Equivalent = append(p.Equivalent, "checksum "+f.Sum.String())
			}
		}
		if most == len(clean) {
			return
		}
	}
}

// believable are the rules that frames show to be no accident, the likeliest first.
func believable(frames [][]byte) []checksum.Spec {
	var specs []checksum.Spec
	for _, f := range checksum.Search(frames[:min(len(frames), 64)]).Fits {
		if f.Chance <= acceptChance {
			specs = append(specs, f.Spec)
		}
	}
	return specs
}

// runs are at most eight stretches of ten frames each.
func runs(frames [][]byte) (some [][][]byte) {
	const length, most = 10, 8
	for from := 0; from+length <= len(frames) && len(some) < most; from += max(length, len(frames)/most) {
		some = append(some, frames[from:from+length])
	}
	return some
}

// fulfil counts the frames that a rule holds for.
func fulfil(frames [][]byte, s *checksum.Spec) (n int) {
	for _, f := range frames {
		if ok, _, _, _ := s.Verify(f); ok {
			n++
		}
	}
	return n
}

func every(frames [][]byte, phase int) (some [][]byte) {
	for i := phase; i < len(frames); i += 2 {
		some = append(some, frames[i])
	}
	return some
}

func commonest(frames [][]byte) (some [][]byte) {
	count := map[int]int{}
	best := 0
	for _, f := range frames {
		count[len(f)]++
		if count[len(f)] > count[best] || count[len(f)] == count[best] && len(f) < best {
			best = len(f)
		}
	}
	for _, f := range frames {
		if len(f) == best {
			some = append(some, f)
		}
	}
	return some
}
