package compare

import "linewitness/capture"

// Between says how far frames prove that losses lie between two taps.
type Between uint8

// What the frames prove. Few: too few episodes to build on. OneEnd: all at one end, and not only in frames that come from the
// other, so that it may be that end's terminal or probe as well. Mixed: frames are damaged at both ends in half as many
// episodes as at one alone or more, so that it may be what disturbs the whole line; a loop that opens anywhere does so too.
const (
	NotMeasured Between = iota
	NotSeen
	Few
	OneEnd
	Mixed
	Shown
)

var betweenNames = [...]string{"unmeasured", "not-seen", "few", "one-end", "mixed", "shown"}

func (b Between) String() string {
	if int(b) < len(betweenNames) {
		return betweenNames[b]
	}
	return "between ?"
}

// leastEpisodes is how many episodes something is said to be seen from; sureEpisodes, shown to lie between the taps.
const leastEpisodes, sureEpisodes = 3, 5

// Conclusion is what the losses of two taps prove.
type Conclusion struct {
	Between  Between
	Share    Share // frames whole at one end only, of those whole at one end at least
	Episodes int
	Common   int // episodes of damage at both ends, but for frames that were sent with a wrong checksum
	// Opened: spaces that each end takes for the other's come again and again with whole frames between, and more often than
	// frames damaged at both. Levels that hum or a dying supply carries about look so too, but in few long episodes.
	Opened bool
	First  bool // of OneEnd: the first recording's end shows the damage
	// Own are senders whose frames stand at both ends with the same characters, with nothing wrong but the checksum: they left
	// their sender so.
	Own []Origin
	// Silent is the unit that did not answer polls which had arrived; Polls.N 0: that could not be told.
	Silent capture.Side
	Polls  Origin
}

// Origin is a side, the share of its frames (of the polls to it) that are meant, and whether that is shown.
type Origin struct {
	Side     capture.Side
	Share    Share
	Episodes int
	Shown    bool
}

// Conclude weighs the losses of two taps.
func Conclude(l *Losses, e Ends) Conclusion {
	var c Conclusion
	var at [2]damageAt
	whole, apart, common := 0, 0, 0
	for i := range l.Senders {
		s := &l.Senders[i]
		whole += s.Whole
		apart += s.Between()
		common += s.Alike.N - s.Alike.Clean + s.Unalike.N
		at[0].add(s.SecondOnly.Episodes, e.First == s.Side)
		at[1].add(s.FirstOnly.Episodes, e.Second == s.Side)
		c.Common += s.Alike.Episodes - runsOf(&s.Alike, s.Alike.Clean) + s.Unalike.Episodes
		if k := s.Alike.Clean; k > 0 {
			runs := runsOf(&s.Alike, k)
			most := 5*k >= 4*(s.Alike.N+s.Unalike.N+s.Between()) // what else is damaged might be damaged so by chance
			c.Own = append(c.Own, Origin{s.Side, shareOf(k, s.Whole+s.Alike.N), runs, most && runs >= leastEpisodes})
		}
	}
	c.Episodes = at[0].all + at[1].all
	c.Share = shareOf(apart, whole+apart)
	c.Opened = l.Opposed.Episodes >= sureEpisodes && l.Opposed.N > common
	c.weigh(l, at, whole+apart)
	c.Silent = others[l.Polls.By]
	p := &l.Polls
	c.Polls = Origin{c.Silent, shareOf(p.Unanswered.N, p.Heard), p.Unanswered.Episodes, p.Unanswered.N >= leastEpisodes}
	return c
}

// damageAt are the episodes of damage at one end, and those of them in frames of that end's own unit.
type damageAt struct{ all, own int }

func (p *damageAt) add(episodes int, own bool) {
	p.all += episodes
	if own {
		p.own += episodes
	}
}

// weigh decides how far it is proved. A disturbance of the whole line is now and then read through at one end, and so leaves
// some damage at one end alone: what proves has to stand out of what both ends show together.
func (c *Conclusion) weigh(l *Losses, at [2]damageAt, frames int) {
	lopsided := func(one, other int) bool { return one >= leastEpisodes && other == 0 }
	few := c.Episodes < leastEpisodes
	switch {
	case frames == 0:
		c.Between = NotMeasured
	case c.Opened:
		c.Between = Shown
	case c.Common >= leastEpisodes && 2*c.Common >= c.Episodes:
		c.Between = Mixed
	case lopsided(at[0].own, at[1].all) || few && lopsided(l.First, l.Second):
		c.Between, c.First = OneEnd, true
	case lopsided(at[1].own, at[0].all) || few && lopsided(l.Second, l.First):
		c.Between = OneEnd
	case c.Episodes >= sureEpisodes && c.Episodes > 2*c.Common:
		c.Between = Shown
	case c.Episodes+c.Common+l.Opposed.N > 0:
		c.Between = Few
	default:
		c.Between = NotSeen
	}
}

// runsOf is about how many of an event's episodes so many of its frames make up.
func runsOf(e *Events, n int) int {
	if e.N == 0 {
		return 0
	}
	return (e.Episodes*n + e.N - 1) / e.N
}

// others are the sides that answer.
var others = map[capture.Side]capture.Side{capture.Indoor: capture.Outdoor, capture.Outdoor: capture.Indoor,
	capture.SideA: capture.SideB, capture.SideB: capture.SideA}
