package uart

import (
	"linewitness/capture"
	"linewitness/capture/burst"
)

// Spaces is the set of levels that are space; all others are mark.
type Spaces uint8

// Below and Above are the outer levels of a line whose mark is the mid level.
const (
	Below Spaces = 1 << capture.Low
	Above Spaces = 1 << capture.High
)

// Has tells whether a level is space.
func (s Spaces) Has(l capture.Level) bool { return s>>l&1 != 0 }

// Fold makes dst the batch src with two states: changes from one space to another and from one mark to another are left
// out. A mark is written as mark, a space as the level first entered; one that is called like mark as the other
// outer level.
func Fold(dst, src *burst.Batch, spaces Spaces, mark capture.Level) {
	dst.Seq = src.Seq
	dst.At, dst.To, dst.Bursts = dst.At[:0], dst.To[:0], dst.Bursts[:0]
	for _, s := range src.Bursts {
		from := len(dst.At)
		// What stood before a burst is taken as mark, where the line rests; the first change is kept in any case.
		space, first := false, true
		for i := s.From; i < s.To; i++ {
			to := src.To[i]
			is := spaces.Has(to)
			if is == space && !first {
				continue
			}
			space, first = is, false
			dst.At, dst.To = append(dst.At, src.At[i]), append(dst.To, named(to, is, mark))
		}
		s.From, s.To = from, len(dst.At)
		dst.Bursts = append(dst.Bursts, s)
	}
}

// named is the level that a state is written as.
func named(to capture.Level, space bool, mark capture.Level) capture.Level {
	switch {
	case !space:
		return mark
	case to == mark && mark == capture.High:
		return capture.Low
	case to == mark:
		return capture.High
	}
	return to
}
