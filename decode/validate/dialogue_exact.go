package validate

import (
	"fmt"

	"linewitness/capture"
	"linewitness/decode/statistic"
)

// turnCoverage and turnConfidence are those of the limits of the turn-around.
const turnCoverage, turnConfidence = 0.95, 0.95

// dialogueFacts lists what units do in answer to each other, with exact intervals (C. J. Clopper and E. S. Pearson, 1934).
func (f *Fold) dialogueFacts(dst []Fact) []Fact {
	if !f.TwoTalk {
		for _, id := range [...]string{"dialogue.unanswered", "dialogue.turn-around"} {
			x := newFact(id, capture.Line, "")
			x.Unmeasured = "this tap does not tell two senders apart"
			dst = append(dst, x)
		}
		return dst
	}
	replier := &f.Senders[1]
	dst = append(dst, shareFact("dialogue.unanswered", replier.Side, replier.Missing, f.Solicited, "no good poll had the time to be answered"),
		turnFact(replier))
	d := &f.Dialogue
	for _, c := range [...]struct {
		id   string
		side capture.Side
		of   *Count
	}{
		{"dialogue.ignored", f.Senders[0].Side, &d.Ignored}, {"dialogue.repeated", f.Senders[0].Side, &d.Repeated},
		{"dialogue.unasked", replier.Side, &d.Unasked}, {"dialogue.doubled", replier.Side, &d.Doubled},
		{"dialogue.foreign", replier.Side, &d.Foreign}, {"dialogue.overlaps", capture.Line, &d.Overlaps},
		{"dialogue.restarts", f.Senders[0].Side, &d.Starts[0].Count}, {"dialogue.restarts", replier.Side, &d.Starts[1].Count},
	} {
		dst = append(dst, c.of.fact(c.id, c.side))
	}
	return dst
}

// fact is the count's share with its interval.
func (c *Count) fact(id string, side capture.Side) Fact {
	if !c.Measured {
		f := newFact(id, side, "")
		f.Unmeasured = "the link as it is known does not say it"
		return f
	}
	return shareFact(id, side, c.Times, c.Of, "nothing was seen that it could be told from")
}

// turnFact is the median turn-around; High is the limit under which 95 % of all lie with 95 % confidence, whatever their
// distribution (S. S. Wilks, 1941), which takes 59 of them; Low the same from below. Above 2,048 turn-arounds both are good to 0.5 %.
// Vector: ToleranceSize(0, 0.95, 0.95) = 59.
func turnFact(s *Sender) Fact {
	f := newFact("dialogue.turn-around", s.Side, "s")
	f.N = s.Turn.N()
	if f.N == 0 {
		f.Unmeasured = "no reply to a poll was seen"
		return f
	}
	f.Value = s.Turn.Percentile(50)
	rank, ok := statistic.ToleranceUpper(int(f.N), turnCoverage, turnConfidence)
	if !ok {
		f.Unmeasured = fmt.Sprintf("limits take %d turn-arounds, %d were seen", statistic.ToleranceSize(0, turnCoverage, turnConfidence), f.N)
		return f
	}
	n := float64(f.N)
	// half a rank off, so that rounding cannot reach the next one
	f.High = s.Turn.Percentile(100 * (float64(rank) - 0.5) / n)
	f.Low = s.Turn.Percentile(100 * (n - float64(rank) + 0.5) / n)
	return f
}
