package verdict

import (
	"fmt"
	"math"
	"slices"

	"linewitness/capture"
	"linewitness/decode/cause"
	"linewitness/decode/validate"
)

// What the dialogue's facts are worth at most, in bits: less than a proof, since units are built in many ways. How far behind
// the cause that such a fact names stand those that could make it as well, but seldom do: read off the circuit, not fitted.
const (
	mostTalk = 12.0
	perEvent = 3.0 // a single event may be an accident
	rarely   = 3.0
	hardly   = 5.0
	never    = 6.0
)

// dialogue weighs what the units do in answer to each other.
func (j *judge) dialogue() {
	d := &j.in.Facts.Dialogue
	if len(j.in.Facts.Senders) == 2 {
		j.ignored(d)
		j.schedules(d)
		j.elsewhere(d)
		j.overlaps(d)
		j.addresses(d)
		j.addressed()
		for i := range j.in.Facts.Senders {
			j.restarts(d, i)
		}
		j.unlike()
	}
	j.manners(d)
}

// unlike gives a cause unlike all known ones what it lost for lack of damaged frames, where the dialogue shows something odd:
// such a cause need not damage any.
func (j *judge) unlike() {
	other := Key{cause.OtherCause, capture.SideUnknown}
	best := -1
	for i := range j.evidence {
		if b := j.evidence[i].Bits[other]; j.evidence[i].ID != "losses" && b > 0 && (best < 0 || b > j.evidence[best].Bits[other]) {
			best = i
		}
	}
	if best < 0 || j.evidence[best].ID == "short-pulses" {
		return
	}
	if lost := j.bitsOf("losses")[other]; lost < 0 {
		j.evidence[best].Bits[other] = math.Min(20, j.evidence[best].Bits[other]-lost)
	}
}

// shownByTalk tells whether a cause would show in the dialogue before any frame is lost.
func shownByTalk(f *validate.Facts, k Key) bool {
	d := &f.Dialogue
	told := func(c *validate.Count) bool { return c.Measured && c.Of > 0 }
	switch k.Cause {
	case cause.TwoControllers:
		return told(&d.Interleaved)
	case cause.Addressing:
		return told(&d.Foreign) || told(&d.Doubled)
	case cause.Restarts:
		for i := range f.Senders {
			if f.Senders[i].Side == k.Side && i < len(d.Starts) {
				return told(&d.Starts[i].Count) || told(&d.Resets[i].Count)
			}
		}
	}
	return false
}

// talkBits is log2 of the likelihood ratio of a rate that may be any against a sound one, with so many events explained by
// something else; within what a fact of the dialogue may claim.
func talkBits(c *validate.Count, explained float64) float64 {
	if !c.Measured || c.Of == 0 {
		return 0
	}
	k := math.Max(0, math.Min(float64(c.N), float64(c.Of))-explained)
	n := float64(c.Of) - k
	b := bits(betaBinomial(k, n, 1, 1) - betaBinomial(k, n, soundA, soundB))
	return math.Max(-mostTalk, math.Min(b, math.Min(mostTalk, perEvent*k)))
}

// talk appends a fact of the dialogue with its share.
func (j *judge) talk(id, says string, c *validate.Count, bits func(Key) float64) {
	j.say(id, says, math.NaN(), "%", c.At, bits)
	e := &j.evidence[len(j.evidence)-1]
	if c.Of > 0 {
		e.Value = 100 * float64(c.N) / float64(c.Of)
		low, high := Wilson(math.Min(float64(c.N), float64(c.Of)), float64(c.Of))
		e.Low, e.High = 100*low, 100*high
	}
}

// behind is what is left of a gain for a cause that explains it seldom: no fact speaks against it.
func behind(b, by float64) float64 { return math.Max(0, b-by) }

// bitsOf are the bits of an evidence that stands already.
func (j *judge) bitsOf(id string) map[Key]float64 {
	for i := range j.evidence {
		if j.evidence[i].ID == id {
			return j.evidence[i].Bits
		}
	}
	return nil
}

// silences: talk that ends while the line rests at mark. Units sleep; or the one that polls is dead, or off.
func (j *judge) silences(d *validate.Dialogue) {
	if !d.Silences.Measured || d.Silences.N == 0 {
		return
	}
	b := hints // no more for many: units that sleep do so again and again
	rests := j.in.Space.N == 0 && (j.in.Volts == nil || j.in.Volts.Held.N == 0)
	j.talk("silences", fmt.Sprintf("%d silences longer than any poll period explains, the longest of %.1f s", d.Silences.N, d.Longest), &d.Silences,
		func(k Key) float64 {
			asks := k.Side == j.in.Facts.Senders[0].Side
			beyond := j.in.Tap == capture.BoardPin || j.in.Tap == capture.Pair // where a line that is cut off rests at mark
			switch {
			case !rests:
			case k.Cause == cause.NoPower, asks && (k.Cause == cause.SilentSender || k.Cause == cause.Restarts),
				beyond && (k.Cause == cause.OpenConductor || k.Cause == cause.IntermittentContact):
				return b
			}
			return 0
		})
}

// manners are facts that convict nobody by themselves.
func (j *judge) manners(d *validate.Dialogue) {
	row := func(id, says string, c *validate.Count) {
		if c.Measured && c.N > 0 {
			j.talk(id, says, c, nil)
		}
	}
	row("unasked-replies", fmt.Sprintf("%d of %d replies came without a poll", d.Unasked.N, d.Unasked.Of), &d.Unasked)
	row("wrong-answers",
		fmt.Sprintf("%d of %d good replies are of a kind that does not answer the poll", d.WrongAnswer.N, d.WrongAnswer.Of), &d.WrongAnswer)
	row("early-replies", fmt.Sprintf("%d of %d replies began sooner than the link allows", d.Early.N, d.Early.Of), &d.Early)
	row("repeats", fmt.Sprintf("%d of %d polls after no good reply were sent again", d.Repeated.N, d.Repeated.Of), &d.Repeated)
	j.silences(d)
	if d.Slow.Measured && d.Slow.N > 0 {
		row("slow-polls", fmt.Sprintf("%d times polls became slow, for %.0f %% of the time; %d times after a good reply (units that sleep do so)",
			d.Slow.N, 100*d.SlowSeconds/d.PaceSeconds, d.SlowAfterGood.N), &d.Slow)
	}
	for i := range j.in.Facts.Senders {
		if i >= len(d.Faults) {
			break
		}
		who := j.in.Facts.Senders[i].Side
		row("fault-silence-"+who.String(),
			fmt.Sprintf("%d times no good frame of %s came for so long that the other unit shows a communication fault",
				d.Faults[i].N, SideName(who)), &d.Faults[i])
	}
}

// firstOf are the first instants of several lists.
func firstOf(lists ...[]capture.Tick) []capture.Tick {
	all := slices.Concat(lists...)
	slices.Sort(all)
	return all[:min(len(all), validate.MostTimes)]
}
