package compare

import "linewitness/capture"

// Between says how far frames prove that losses lie between two taps.
type Between uint8

// What the frames prove. Few: too few episodes to build on. OneEnd: all at one end, and its own sender's frames too, so that
// it may be that end's terminal or probe as well.
const (
	NotMeasured Between = iota
	NotSeen
	Few
	OneEnd
	Shown
)

var betweenNames = [...]string{"unmeasured", "not-seen", "few", "one-end", "shown"}

func (b Between) String() string {
	if int(b) < len(betweenNames) {
		return betweenNames[b]
	}
	return "between ?"
}

// leastEpisodes is how many episodes something is said to be shown from.
const leastEpisodes = 3

// Conclusion is what the losses of two taps prove.
type Conclusion struct {
	Between  Between
	Share    Share // frames whole at one end only, of those whole at one end at least
	Episodes int
	End      capture.Side // of OneEnd: the unit whose tap shows them damaged; SideUnknown: see First
	First    bool         // of OneEnd: it is the first recording's
	// Own are senders whose frames stand damaged alike at both ends: they left their own end so.
	Own []Origin
	// Silent is the unit that did not answer polls which had arrived; N 0: polls could not be told.
	Silent      capture.Side
	SilentShare Share
	SilentShown bool
}

// Origin is a sender and the share of its frames that stand damaged alike at both ends.
type Origin struct {
	Side     capture.Side
	Share    Share
	Episodes int
	Shown    bool
}

// Conclude weighs the losses of two taps.
func Conclude(l *Losses, e Ends) Conclusion {
	var c Conclusion
	whole, apart := 0, 0
	var atFirst, atSecond, ownFirst, ownSecond int // episodes of damage at an end, and of those in its own sender's frames
	for i := range l.Senders {
		s := &l.Senders[i]
		whole += s.Whole
		apart += s.Between()
		c.Episodes += s.FirstOnly.Episodes + s.SecondOnly.Episodes
		atFirst += s.SecondOnly.Episodes
		atSecond += s.FirstOnly.Episodes
		if far, known := e.far(s.Side); known && far {
			ownSecond += s.FirstOnly.Episodes
		} else if known {
			ownFirst += s.SecondOnly.Episodes
		}
		if n := s.Whole + s.Alike.N; s.Alike.N > 0 {
			c.Own = append(c.Own, Origin{s.Side, shareOf(s.Alike.N, n), s.Alike.Episodes, s.Alike.Episodes >= leastEpisodes})
		}
	}
	c.Share = shareOf(apart, whole+apart)
	switch {
	case whole+apart == 0:
		c.Between = NotMeasured
	case c.Episodes+l.Opposed.N == 0:
		c.Between = NotSeen
	case c.Episodes < leastEpisodes && l.Opposed.N < leastEpisodes:
		c.Between = Few
	case l.Opposed.N >= leastEpisodes:
		c.Between = Shown
	case atFirst == 0 && ownSecond >= leastEpisodes:
		c.Between, c.End = OneEnd, e.Second
	case atSecond == 0 && ownFirst >= leastEpisodes:
		c.Between, c.End, c.First = OneEnd, e.First, true
	default:
		c.Between = Shown
	}
	c.silent(l)
	return c
}

// others are the sides that answer.
var others = map[capture.Side]capture.Side{capture.Indoor: capture.Outdoor, capture.Outdoor: capture.Indoor,
	capture.SideA: capture.SideB, capture.SideB: capture.SideA}

func (c *Conclusion) silent(l *Losses) {
	c.Silent = others[l.Polls.By]
	c.SilentShare = shareOf(l.Polls.Unanswered.N, l.Polls.Heard)
	c.SilentShown = l.Polls.Unanswered.N >= leastEpisodes
}
