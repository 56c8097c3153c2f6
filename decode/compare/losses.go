package compare

import (
	"slices"

	"linewitness/capture"
	"linewitness/decode/statistic"
)

// MostTimes is how many instants are kept of a kind.
const MostTimes = 20

// confidence of all intervals.
const confidence = 0.95

// Moment is an instant on both axes; where only one end shows it, the other is reckoned.
type Moment struct{ First, Second capture.Tick }

// Events are frames of one kind. Errors come in episodes, runs of frames with no whole one of their sender between: whoever
// tests, tests those.
type Events struct {
	N, Missing, Episodes int // Missing: of N, those of which one end shows nothing at all
	Clean                int // of N damaged alike: nothing is wrong but the checksum, so that they were sent so
	At                   []Moment
	open                 bool
}

func (e *Events) add(o *outcome) {
	e.N++
	e.Missing += count(o.missing)
	e.Clean += count(o.clean)
	if !e.open {
		e.open = true
		e.Episodes++
	}
	if len(e.At) < MostTimes {
		e.At = append(e.At, Moment{o.first, o.second})
	}
}

// Share is K of N with its exact interval (C. J. Clopper and E. S. Pearson, 1934), as if frames were independent.
type Share struct {
	K, N      int
	Low, High float64
}

func shareOf(k, n int) Share {
	in := statistic.ClopperPearson(k, n, confidence)
	return Share{k, n, in.Lower, in.Upper}
}

// Sender is what both ends show of one side's frames.
type Sender struct {
	Side                  capture.Side
	Whole                 int    // at both ends
	FirstOnly, SecondOnly Events // whole there, and not whole, or not there at all, at the other end
	Alike                 Events // damaged at both ends, with the same characters
	Unalike               Events // damaged at both ends, otherwise
}

// Between are the frames that the ends do not show alike.
func (s *Sender) Between() int { return s.FirstOnly.N + s.SecondOnly.N }

// Polls are those that arrived whole at the unit they ask, and had the time to be answered.
type Polls struct {
	By         capture.Side // who asks; SideUnknown: nobody was seen to
	Heard      int          // whole at the far end; at both ends, where nothing says which is far
	Unanswered Events       // of them, those after which neither end shows anything
	Lost       int          // polls whole at one end, but not at the far one
}

// Losses are what two taps show of one conversation.
type Losses struct {
	Seconds       float64 // that both recorded
	Senders       []Sender
	Opposed       Events // spaces that each end takes for another sender's, as where the line stands open between them
	First, Second int    // damaged frames and bursts that one end alone shows
	Polls         Polls
}

// Ends say which unit each tap is near to: Indoor, Outdoor, or SideUnknown.
type Ends struct{ First, Second capture.Side }

// far tells which end is far from a sender; known is false where nothing says so.
func (e Ends) far(s capture.Side) (first, known bool) {
	switch {
	case s != capture.Indoor && s != capture.Outdoor:
		return false, false
	case e.First == s:
		return false, true
	case e.Second == s:
		return true, true
	}
	return false, false
}

// Lost is the share of a sender's frames, whole at its own end, that did not arrive whole at the other one; known is false
// where nothing says which end is its own.
func (l *Losses) Lost(s *Sender, e Ends) (lost Share, known bool) {
	first, known := e.far(s.Side)
	k := s.FirstOnly.N
	if first {
		k = s.SecondOnly.N
	}
	return shareOf(k, s.Whole+k), known
}

// LossesOf compares two recordings that are aligned.
func LossesOf(first, second *Recording, al *Alignment, e Ends) *Losses {
	l := &Losses{Seconds: al.To - al.From}
	all := outcomes(first, second, al)
	var asked capture.Side
	for i := range all {
		if all[i].poll && all[i].fate <= secondOnly {
			asked = all[i].side
			break
		}
	}
	for i := range all {
		l.take(&all[i])
	}
	slices.SortFunc(l.Senders, func(x, y Sender) int { return int(x.Side) - int(y.Side) })
	l.Polls.By = asked
	if asked != capture.SideUnknown {
		l.polls(all, e)
	}
	return l
}

func (l *Losses) take(o *outcome) {
	switch o.fate {
	case firstNoise:
		l.First++
		return
	case secondNoise:
		l.Second++
		return
	case opposed:
		l.Opposed.add(o)
		return
	}
	s := l.sender(o.side)
	switch {
	case o.fate == both:
		s.Whole++
		s.FirstOnly.open, s.SecondOnly.open, s.Alike.open, s.Unalike.open = false, false, false, false
		l.Opposed.open = false
	case o.fate == firstOnly:
		s.FirstOnly.add(o)
	case o.fate == secondOnly:
		s.SecondOnly.add(o)
	case o.fate == alike && o.shaped:
		s.Alike.add(o)
	case o.fate == unalike && o.shaped:
		s.Unalike.add(o)
	}
}

func (l *Losses) sender(side capture.Side) *Sender {
	for i := range l.Senders {
		if l.Senders[i].Side == side {
			return &l.Senders[i]
		}
	}
	l.Senders = append(l.Senders, Sender{Side: side})
	return &l.Senders[len(l.Senders)-1]
}

// polls counts what was asked and not answered. The last poll is left out: its reply may come after the end.
func (l *Losses) polls(all []outcome, e Ends) {
	first, known := e.far(l.Polls.By)
	for i := range all {
		o := &all[i]
		if !o.poll || o.side != l.Polls.By || o.fate > secondOnly {
			continue
		}
		if known && o.fate != both && (o.fate == firstOnly) != first || !known && o.fate != both {
			l.Polls.Lost++
			continue
		}
		k := i + 1
		for k < len(all) && all[k].side == l.Polls.By && all[k].fate > secondOnly {
			k++ // what is left of a poll is no answer
		}
		switch {
		case k == len(all):
		case all[k].side == l.Polls.By:
			l.Polls.Heard++
			l.Polls.Unanswered.add(o)
		default:
			l.Polls.Heard++
			l.Polls.Unanswered.open = false
		}
	}
}
