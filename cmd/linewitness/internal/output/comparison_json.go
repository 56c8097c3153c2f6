package output

import (
	"math"

	"linewitness/capture"
	"linewitness/decode"
	"linewitness/decode/compare"
)

// AppendComparison appends c as one line of JSON, line feed included.
func AppendComparison(dst []byte, c *Comparison) ([]byte, error) {
	line, err := marshal(newComparison(c))
	if err != nil {
		return dst, err
	}
	return append(dst, line...), nil
}

func newComparison(c *Comparison) comparisonJSON {
	j := comparisonJSON{Schema: ComparisonSchema, Kind: c.kind(), Given: c.Given, Why: known(c.Why), LinkFrom: known(c.LinkFrom),
		Recordings: []sideOfJSON{c.recording(c.First, false), c.recording(c.Second, true)},
		Alignment:  newAlignment(c.Alignment), Changes: each(c.Changes.All, newChange), Summary: c.summary()}
	if c.Losses != nil {
		j.Losses, j.Conclusion = c.losses(), newConclusion(c.Conclusion)
	}
	return j
}

func (c *Comparison) recording(f *decode.Finding, second bool) sideOfJSON {
	j := newFinding(f)
	s := sideOfJSON{recordingJSON: j.Recording, Link: j.Link, Verdict: j.Verdict}
	if end := c.end(second); end != capture.SideUnknown {
		s.End = known(end.String())
	}
	return s
}

func newAlignment(al *compare.Alignment) *alignmentJSON {
	if al == nil {
		return nil
	}
	l := &al.Line
	j := &alignmentJSON{Aligned: al.Aligned, Sure: al.Sure(), Why: known(al.Why), Offset: number(l.Offset), OffsetErr: number(l.OffsetErr),
		At: number(l.At), Drift: number(1e6 * l.Drift), DriftErr: number(1e6 * l.DriftErr), Scatter: number(1e6 * l.Scatter),
		Matched: al.Matched, Whole: []int{al.FirstOf, al.SecOf}, Chance: number(al.Chance), From: number(al.From), To: number(al.To)}
	if al.Axis == nil {
		j.From, j.To = number(math.NaN()), number(math.NaN())
	}
	return j
}

func (c *Comparison) losses() *lossesJSON {
	l := c.Losses
	j := &lossesJSON{Seconds: number(l.Seconds), Opposed: c.happened(&l.Opposed), Bursts: burstsJSON{l.First, l.Second}}
	j.Senders = each(l.Senders, func(s *compare.Sender) sentJSON {
		sent := sentJSON{Side: frameSide(s.Side), Whole: s.Whole, FirstOnly: c.happened(&s.FirstOnly), SecondOnly: c.happened(&s.SecondOnly),
			Alike: c.happened(&s.Alike), Unalike: c.happened(&s.Unalike)}
		if lost, known := l.Lost(s, c.Ends); known {
			share := newShare(lost)
			sent.Lost = &share
		}
		return sent
	})
	if p := &l.Polls; p.By != capture.SideUnknown {
		j.Polls = &pollsJSON{frameSide(p.By), p.Heard, p.Lost, c.happened(&p.Unanswered), newShare(c.Conclusion.Polls.Share)}
	}
	return j
}

func (c *Comparison) happened(e *compare.Events) happenedJSON {
	return happenedJSON{Frames: e.N, Missing: e.Missing, Episodes: e.Episodes,
		At:     each(e.At, func(m *compare.Moment) moment { return moment{m.First, c.First.Recording.Clock} }),
		Second: each(e.At, func(m *compare.Moment) moment { return moment{m.Second, c.Second.Recording.Clock} })}
}

func newShare(s compare.Share) shareJSON {
	return shareJSON{s.K, s.N, number(100 * float64(s.K) / float64(s.N)), number(100 * s.Low), number(100 * s.High)}
}

func newConclusion(c *compare.Conclusion) *conclusionJSON {
	origin := func(o *compare.Origin) originJSON {
		return originJSON{frameSide(o.Side), newShare(o.Share), o.Episodes, o.Shown}
	}
	j := &conclusionJSON{Between: c.Between.String(), Share: newShare(c.Share), Episodes: c.Episodes, Common: c.Common, Opened: c.Opened, Own: each(c.Own, origin)}
	if c.Between == compare.OneEnd {
		j.End = known(map[bool]string{true: "first", false: "second"}[c.First])
	}
	if c.Polls.Share.N > 0 {
		silent := origin(&c.Polls)
		j.Silent = &silent
	}
	return j
}

func newChange(x *compare.Change) changeJSON {
	figure := func(f *compare.Figure) figureJSON {
		j := figureJSON{number(f.Value), number(f.Low), number(f.High), f.N, nil}
		if x.Kind == compare.Proportion && x.NotComparable == "" {
			j.Runs = &f.Runs
		}
		return j
	}
	return changeJSON{ID: x.ID, Side: frameSide(x.Side), Unit: x.Unit, Test: x.Test, Before: figure(&x.Was), After: figure(&x.Is),
		Difference: figure(&x.Difference), P: number(x.P), Adjusted: number(x.Adjusted), Changed: x.Changed, FewRuns: x.FewRuns, Unseen: number(x.Unseen),
		Not: known(x.NotComparable)}
}
