package validate

import (
	"math/bits"
	"slices"

	"linewitness/capture"
	"linewitness/decode/link"
	"linewitness/decode/statistic"
	"linewitness/decode/uart"
)

const (
	longestMended = 264 // characters of a frame that is looked at, more than Modbus ever has
	mostMended    = 512 // episodes that are all looked at; after them
	eachMended    = 16  // one of so many is
	bitKinds      = 10  // of a character: up to nine data bits, then parity
)

// flips counts in which direction bits of damaged frames were misread, one direction an episode, where only one tells what was sent.
type flips struct {
	p       *link.Profile
	marks   [bitKinds]int64 // of good frames' bits, by their place in the character
	chars   int64
	good    [longestMended]uint16 // the last good frame
	n       int                   // its length; 0: none
	same    bool                  // it is the one before it once more
	lost    Times                 // marks read as space
	gained  int64                 // spaces read as mark
	places  [bitKinds]int64       // bits that were misread, by their place
	looked  int64
	sent    [longestMended]byte
	mayLose bool // some way to mend it says that marks were read as space
	mayGain bool // or spaces as mark
	place   int  // a bit that was misread
}

// whole takes a good frame: its bits are what was at risk, and it may be a reference.
func (f *flips) whole(r *link.Frame) {
	if len(r.Values) == 0 || len(r.Values) > longestMended {
		f.n = 0
		return
	}
	f.same = f.n == len(r.Values) && slices.Equal(f.good[:f.n], r.Values)
	if !f.same {
		f.n = copy(f.good[:], r.Values)
	}
	v := r.Values[pick(r.At, len(r.Values))] // one character stands for the frame
	f.chars++
	for m := v; m != 0; m &= m - 1 {
		f.marks[min(bits.TrailingZeros16(m), bitKinds-2)]++
	}
	if f.parity(v) {
		f.marks[bitKinds-1]++
	}
}

// parity is the parity bit of a value, false where the format has none.
func (f *flips) parity(v uint16) bool {
	odd := bits.OnesCount16(v)&1 == 1
	switch f.p.Line.Format.Parity {
	case uart.ParityEven:
		return odd
	case uart.ParityOdd:
		return !odd
	case uart.ParityMark:
		return true
	}
	return false
}

// begun takes the first damaged frame of an episode. Whose bits are clean carries a wrong sum, which its sender made.
func (f *flips) begun(r *link.Frame, dirty bool) {
	if !dirty || len(r.Chars) != len(r.Values) || len(r.Values) == 0 || len(r.Values) > longestMended {
		return
	}
	if f.looked++; f.looked > mostMended && f.looked%eachMended != 0 {
		return
	}
	wrong, where := 0, 0
	for i := range r.Chars {
		fault := r.Chars[i].Fault
		if fault&(uart.FaultStop|uart.FaultBreak|uart.FaultCut) != 0 {
			return // which bits are which is not certain
		}
		if fault&uart.FaultParity != 0 {
			wrong, where = wrong+1, i
		}
	}
	f.mayLose, f.mayGain = false, false
	if !f.byReference(r, wrong, where) {
		f.bySum(r, wrong, where)
	}
	if f.mayLose == f.mayGain {
		return // nothing fits, or either direction does
	}
	f.places[f.place]++
	if f.mayLose {
		f.lost.add(r.At)
	} else {
		f.gained++
	}
}

// atRisk is how many marks and spaces as many good bits have as characters were looked at, at the places of those that were misread.
func (f *flips) atRisk() (marks, spaces int) {
	var sum, n float64
	for i, c := range f.places {
		sum, n = sum+float64(c)*float64(f.marks[i]), n+float64(c)
	}
	marks = int(sum/n + 0.5)
	return marks, int(f.chars) - marks
}

// misread notes a candidate: bits of a character as read that were sent otherwise.
func (f *flips) misread(read, mask uint16) {
	f.place = min(bits.TrailingZeros16(mask), bitKinds-2)
	f.mayLose = f.mayLose || ^read&mask != 0
	f.mayGain = f.mayGain || read&mask != 0
}

// byReference compares with a frame that this sender repeats: all that differs stands in one character.
func (f *flips) byReference(r *link.Frame, wrong, where int) bool {
	if !f.same || f.n != len(r.Values) || wrong > 1 {
		return false
	}
	at := -1
	for i, v := range r.Values {
		if v == f.good[i] {
			continue
		}
		if at >= 0 {
			return false
		}
		at = i
	}
	switch {
	case at < 0 && wrong == 1:
		f.parityMisread(r.Values[where])
		return true
	case at < 0 || wrong == 1 && at != where:
		return false
	}
	f.misread(r.Values[at], r.Values[at]^f.good[at])
	return true
}

// parityMisread notes that a character's parity bit was read as what it is not.
func (f *flips) parityMisread(v uint16) {
	f.place = bitKinds - 1
	f.mayLose, f.mayGain = f.parity(v), !f.parity(v)
}

// bySum tries which single bit, else which two neighbours of one state, make the checksum right.
func (f *flips) bySum(r *link.Frame, wrong, where int) {
	if f.p.Checksum == nil || f.p.Framing.Coding != link.CodingPlain || len(r.Octets) != len(r.Values) || wrong > 1 {
		return
	}
	from, to := 0, len(r.Octets)
	if wrong == 1 {
		from, to = where, where+1
	}
	n := copy(f.sent[:], r.Octets)
	if ok, _, _, short := f.p.Checksum.Verify(f.sent[:n]); ok || short {
		if ok && wrong == 1 {
			f.parityMisread(r.Values[where])
		}
		return
	}
	single := f.p.Line.Format.Parity != uart.ParityEven && f.p.Line.Format.Parity != uart.ParityOdd || wrong == 1
	if single && f.fits(n, from, to, 1) {
		return
	}
	f.fits(n, from, to, 3)
}

// fits tries a mask of neighbouring bits at each place of octets [from, to), where they were read as one state.
func (f *flips) fits(n, from, to int, mask byte) (any bool) {
	width := bits.Len8(mask)
	for i := from; i < to; i++ {
		for b := 0; b <= 8-width; b++ {
			m := mask << b
			if v := f.sent[i] & m; v != 0 && v != m {
				continue
			}
			f.sent[i] ^= m
			ok, _, _, _ := f.p.Checksum.Verify(f.sent[:n])
			f.sent[i] ^= m
			if ok {
				f.misread(uint16(f.sent[i]), uint16(m))
				any = true
			}
		}
	}
	return any
}

// fact is the share of episodes in which marks were read as space, of those whose first frame can be mended in one direction only: by
// its parity and checksum, or by a frame that the sender repeats. Exact interval (C. J. Clopper and E. S. Pearson, 1934); P is R. A.
// Fisher's exact one (1935) against the marks among the bits at those places in good frames, which is what inverted bits would
// show. A pulse that the checksum lets pass unseen is not in it. Vectors: fisher_*, frames with single bits inverted.
func (f *flips) fact(id string, side capture.Side) Fact {
	n := f.lost.N + f.gained
	x := shareFact(id, side, f.lost, n, "no damaged frame of this sender can be mended in one direction only")
	if n > 0 {
		marks, spaces := f.atRisk()
		x.P = statistic.FisherExact(int(f.lost.N), int(f.gained), marks, spaces, statistic.TwoSided)
	}
	return x
}
