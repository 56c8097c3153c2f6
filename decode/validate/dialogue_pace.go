package validate

import (
	"bytes"
	"math"

	"linewitness/capture"
	"linewitness/decode/link"
)

// What counts as near. Assumptions with no source: periods of units are kept within some per cent.
const (
	nearPeriod = 0.05 // of a poll period, of which two schedules are told
	nearRetry  = 0.2  // of the interval to a repetition
	apart      = 1.2  // least ratio of poll period and interval to a repetition that tells them
	slowRatio  = 1.5  // least ratio of slow and usual period that tells them
	slowMost   = 3.0  // times the slow period: longer is silence, not pace
)

// asked is a poll.
type asked struct {
	at, end  capture.Tick
	good     bool
	shape    int // -1: none
	counted  bool
	count    int64
	address  int // -1: none
	answered bool
	octets   [32]byte // its beginning
	length   int      // whole
	likely   bool     // by its counter or by its time a repetition of the one before it
	sure     bool     // a repetition by counter and content
}

// schedule is the link's timing in ticks; 0: not known.
type schedule struct{ period, retry, slow capture.Tick }

func newSchedule(t *link.Timing, c capture.Clock) schedule {
	return schedule{c.Ticks(t.PollPeriod), c.Ticks(t.RetryAfter), c.Ticks(t.SlowPeriod)}
}

// poll takes the next poll. One that nothing but time tells ends the chain: it may be a late reply.
func (f *follower) poll(r *link.Frame, told bool) {
	if !told {
		f.polls, f.owed, f.answers, f.slowing = 0, 0, 0, false
		return
	}
	a := f.asked(r)
	if f.polls > 0 {
		f.owe()
		f.follows(&a)
		f.slowPace(&a)
	}
	if f.polls > 1 {
		f.schedules(&a)
	}
	f.before, f.last, f.answers = f.last, a, 0
	f.polls = min(f.polls+1, 2)
}

// asked is what a poll asks.
func (f *follower) asked(r *link.Frame) asked {
	a := asked{at: r.At, end: r.End, good: r.OK(), shape: -1, address: -1, length: len(r.Octets)}
	copy(a.octets[:], r.Octets)
	if !a.good {
		return a
	}
	a.shape = f.p.ShapeOf(r.Octets, f.p.Controller)
	a.count, a.counted = f.number(a.shape, r.Octets)
	a.address = f.addressOf(r.Octets)
	return a
}

// owe counts polls that nobody answered: their replies may still come, behind the next poll.
func (f *follower) owe() {
	if f.answers > 0 {
		f.owed = 0
		return
	}
	f.owed = min(f.owed+1, 3)
}

// follows tells whether poll a repeats the last one, after a good reply or after none.
func (f *follower) follows(a *asked) {
	again, known := f.repeats(a)
	if !known || !f.Ignored.Measured {
		return
	}
	if f.last.answered {
		f.Ignored.chance(again, a.at)
		return
	}
	f.Repeated.chance(again, a.at)
}

// repeats compares a poll with the last one: its counter stands still, where it was seen to count; or it comes when a
// repetition is due, with a counter that goes on by one, if any. Where the two disagree, nothing is known.
func (f *follower) repeats(a *asked) (again, known bool) {
	gap := a.at - f.last.at
	retry, regular, tells := f.times(gap)
	a.likely = retry
	if f.last.likely { // after a repetition the next poll comes when it will
		retry, regular, tells = false, false, false
	}
	if a.counted && f.last.counted && a.shape == f.last.shape {
		c := &f.counters[a.shape]
		switch {
		case a.count == f.last.count:
			a.likely = true
			a.sure = c.alive && a.length == f.last.length && bytes.Equal(a.octets[:], f.last.octets[:])
			return c.alive && !regular, c.alive && !regular
		case a.count != (f.last.count+1)%c.span:
			return false, !(tells && retry)
		case tells && retry: // some count every frame
			return true, true
		}
		c.alive = true
		return false, true
	}
	return retry, tells && (retry || regular)
}

// times tells whether an interval from poll to poll is that of a repetition or the regular one; tells: the link parts them.
func (f *follower) times(gap capture.Tick) (retry, regular, tells bool) {
	if f.retry == 0 || f.period == 0 {
		return false, false, false
	}
	g, p, r := float64(gap), float64(f.period), float64(f.retry+f.last.end-f.last.at)
	tells = math.Abs(math.Log(p/r)) > math.Log(apart)
	toRetry, toPeriod := math.Abs(math.Log(g/r)), math.Abs(math.Log(g/p))
	retry = tells && toRetry < toPeriod && toRetry < math.Log(1+nearRetry)
	return retry, tells && toPeriod <= toRetry, tells
}

// schedules looks for a poll that keeps the period of the last but one, with another in between. Repetitions after no good
// reply stand there too.
func (f *follower) schedules(a *asked) {
	if !f.Interleaved.Measured || f.last.likely && !f.before.answered || a.likely && !f.last.answered {
		return
	}
	near := func(gap capture.Tick) bool {
		return math.Abs(float64(gap-f.period)) <= nearPeriod*float64(f.period)
	}
	f.Interleaved.chance(!f.last.sure && !near(a.at-f.last.at) && near(a.at-f.before.at), a.at)
}

// slowPace follows episodes of slow polls.
func (f *follower) slowPace(a *asked) {
	if !f.Slow.Measured {
		return
	}
	gap := a.at - f.last.at
	if float64(gap) > slowMost*float64(f.slow) {
		f.slowing = false
		return
	}
	f.PaceSeconds += f.clock.Seconds(gap)
	slow := float64(gap) > math.Sqrt(float64(f.slow)*float64(f.period))
	if slow {
		f.SlowSeconds += f.clock.Seconds(gap)
	}
	begins := slow && !f.slowing
	f.Slow.chance(begins, f.last.at)
	if begins && f.last.answered {
		f.SlowAfterGood.add(f.last.at)
	}
	f.slowing = slow
}
