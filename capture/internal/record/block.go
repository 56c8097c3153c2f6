package record

import (
	"fmt"
	"math"

	"linewitness/capture"
)

// AppendBlock hands the records of b, one after the other, to each: levels, then volts, then octets, the first of
// them with the gap. levels tells that the recording has levels at all: then every block has its levels record, and
// without it only where the block needs one. A block of more than MaxCount elements becomes several that follow each
// other. The records are numbered from seq on; next is the number after the last that each took.
//
// dst is scratch; a record lies in it, or in a larger one that the caller may keep for the next call, and is valid until each
// returns. Errors are those of each, and ErrContent where b breaks the rules of a block.
func AppendBlock(
	dst []byte, seq uint64, b *capture.Block, levels bool, each func(record []byte, h *Header) error,
) (next uint64, err error) {
	if err := checkBlock(b); err != nil {
		return seq, err
	}
	s := splitter{rest: *b}
	for more := true; more && err == nil; {
		more = s.next()
		dst, seq, err = appendPiece(dst, seq, &s.piece, levels, each)
	}
	return seq, err
}

// appendPiece hands out the records of a block that is small enough.
func appendPiece(dst []byte, seq uint64, b *capture.Block, levels bool, each func([]byte, *Header) error) ([]byte, uint64, error) {
	volts, octets := len(b.Volts) > 0, len(b.Octets) > 0
	levels = levels || len(b.At) > 0 || b.First != capture.Unknown || !volts && !octets
	last := Levels
	switch {
	case octets:
		last = Octets
	case volts:
		last = Volts
	}
	var flags uint16
	if b.Gap.Present() {
		flags = FlagGap
	}
	for kind := Levels; kind <= last; kind++ {
		if kind == Levels && !levels || kind == Volts && !volts {
			continue
		}
		h := Header{Kind: kind, Flags: flags, Seq: seq, Start: b.Start, End: b.End}
		if kind != last {
			h.Flags |= FlagMore
		}
		if dst = appendPart(dst[:0], &h, b); len(dst) > HeaderSize+MaxBody {
			panic("record: a body is longer than any can be")
		}
		if err := each(dst, &h); err != nil {
			return dst, seq, err
		}
		seq, flags = seq+1, FlagPart
	}
	return dst, seq, nil
}

// appendPart appends one record of b, of h's kind, and completes h.
func appendPart(dst []byte, h *Header, b *capture.Block) []byte {
	dst = open(dst)
	if h.Flags&FlagGap != 0 {
		dst = appendGap(dst, &b.Gap)
	}
	switch h.Kind {
	case Levels:
		dst = appendLevels(dst, h, b)
	case Volts:
		dst = appendVolts(dst, h, b)
	case Octets:
		dst = appendOctets(dst, h, b)
	}
	seal(dst, h)
	return dst
}

// splitter cuts a block into pieces of at most MaxCount elements of each sort.
type splitter struct {
	rest, piece capture.Block
}

// next sets piece and tells whether more follow.
func (s *splitter) next() bool {
	r := &s.rest
	at, more := capture.Tick(math.MaxInt64), false
	if len(r.At) > MaxCount {
		at, more = r.At[MaxCount], true
	}
	if len(r.SampleAt) > MaxCount {
		at, more = min(at, r.SampleAt[MaxCount]), true
	}
	octets := 0
	if len(r.Octets) > MaxCount {
		if t := min(max(r.Octets[MaxCount].At, r.Start), r.End); !more || t <= at {
			at, octets, more = t, MaxCount, true
		}
	}
	if s.piece = *r; !more {
		return false
	}
	p := &s.piece
	i, j := before(r.At, at), before(r.SampleAt, at)
	for octets < min(len(r.Octets), MaxCount) && r.Octets[octets].At < at {
		octets++
	}
	p.End, r.Start, r.Gap = at, at, capture.Gap{}
	p.At, p.To, r.At, r.To = r.At[:i], r.To[:i], r.At[i:], r.To[i:]
	if len(r.Doubt) > 0 {
		p.Doubt, r.Doubt = r.Doubt[:i], r.Doubt[i:]
	}
	p.SampleAt, p.Volts, r.SampleAt, r.Volts = r.SampleAt[:j], r.Volts[:j], r.SampleAt[j:], r.Volts[j:]
	p.Octets, r.Octets = r.Octets[:octets], r.Octets[octets:]
	r.First = p.Last()
	return true
}

// before is how many of the first MaxCount instants lie before t. They rise.
func before(at []capture.Tick, t capture.Tick) int {
	n := min(len(at), MaxCount)
	for n > 0 && at[n-1] >= t {
		n--
	}
	return n
}

// checkBlock refuses what could not be read back.
func checkBlock(b *capture.Block) error {
	switch g := b.Gap; {
	case b.End < b.Start:
		return broken(fmt.Sprintf("an end from %d on", b.Start), b.End)
	case len(b.At) != len(b.To) || len(b.SampleAt) != len(b.Volts) || len(b.Doubt) != 0 && len(b.Doubt) != len(b.At):
		return broken("slices of one length", "others")
	case g.Present() && (g.From >= g.To || g.To != b.Start) || !g.Present() && g != (capture.Gap{}):
		return broken("a gap to the block's start", g)
	case b.First > capture.High:
		return broken("a level", b.First)
	}
	if err := checkRising(b.At, b.Start, b.End); err != nil {
		return err
	}
	if err := checkRising(b.SampleAt, b.Start, b.End); err != nil {
		return err
	}
	last := b.First
	for _, to := range b.To {
		if to == last || to == capture.Unknown || to > capture.High {
			return broken(fmt.Sprintf("a transition from %v", last), to)
		}
		last = to
	}
	return checkFinite(b.Volts)
}

// checkRising tells whether the instants rise strictly within [start, end].
func checkRising(at []capture.Tick, start, end capture.Tick) error {
	if len(at) == 0 {
		return nil
	}
	if at[0] < start || at[len(at)-1] > end {
		return broken(fmt.Sprintf("instants in [%d, %d]", start, end), fmt.Sprintf("[%d, %d]", at[0], at[len(at)-1]))
	}
	for i, t := range at[1:] {
		if t <= at[i] {
			return broken(fmt.Sprintf("an instant after %d", at[i]), t)
		}
	}
	return nil
}

func checkFinite(volts []float64) error {
	for _, v := range volts {
		if v-v != 0 { // NaN and infinities
			return broken("finite volts", v)
		}
	}
	return nil
}
