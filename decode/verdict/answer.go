package verdict

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"linewitness/capture"
	"linewitness/decode/cause"
)

// answer adds prior and evidence up and says what they amount to.
func (j *judge) answer() Judged {
	p, prior := j.posterior(1)
	all := make([]Candidate, len(j.keys))
	for i, k := range j.keys {
		all[i] = Candidate{Key: k, Probability: p[i], PriorBits: prior[i]}
	}
	slices.SortStableFunc(all, func(a, b Candidate) int {
		switch {
		case a.Probability > b.Probability:
			return -1
		case a.Probability < b.Probability:
			return 1
		}
		return 0
	})
	j.order(all[0].Key)
	v := j.verdict(all)
	if j.live {
		v.Summary += " L itself stands on the signal line at times: every terminal may be live."
	} else if mains := j.in.Volts.mainsOnS(); mains > pickup && !strings.Contains(v.Summary, "live") {
		v.Summary += fmt.Sprintf(" Mains of %s V peak stands on the signal line: that may be L itself, every terminal may be live.", short(mains))
	}
	again := j.repeat(all)
	return Judged{Verdict: v, Candidates: all, Also: j.also(&v), Evidence: j.evidence, Cleared: j.cleared(all), Prior: j.prior(&v), About: j.about, Repeat: again}
}

// order puts what speaks most about the leading candidate first, behind the losses.
func (j *judge) order(lead Key) {
	if len(j.evidence) < 3 || j.evidence[0].ID != "losses" {
		return
	}
	slices.SortStableFunc(j.evidence[1:], func(a, b Evidence) int {
		return cmp.Compare(math.Abs(b.Bits[lead]), math.Abs(a.Bits[lead]))
	})
}

// verdict is the leading candidate where it is likely enough, is no stranger, and something was said at all.
func (j *judge) verdict(all []Candidate) Verdict {
	lead := all[0]
	v := Verdict{Key: lead.Key, Family: lead.Cause.Family(), Probability: lead.Probability, Explains: math.NaN(), ExplainsLow: math.NaN(), ExplainsHigh: math.NaN()}
	silent := !j.heard()
	untold := silent && (lead.Cause == cause.None || j.in.Volts == nil && !j.told()) // levels and readings may tell what no frame does
	if untold || lead.Probability < sure || lead.Cause == cause.OtherCause {
		v.Key, v.Family, v.Undetermined = Key{cause.Unknown, capture.SideUnknown}, cause.FamilyUnknown, true
		v.Summary = j.undetermined(all, silent)
		return v
	}
	if lead.Cause == cause.None {
		if f := j.in.Facts; !f.TwoTalk || f.Senders[0].Frames == 0 || f.Senders[1].Frames == 0 {
			v.Summary = fmt.Sprintf("The one sender heard is sound as far as this recording shows (probability %s); of the other unit nothing was heard.", Percent(lead.Probability))
			return v
		}
		v.Summary = fmt.Sprintf("The line is sound as far as this recording shows (probability %s).", Percent(lead.Probability))
		return v
	}
	v.Explains, v.ExplainsLow, v.ExplainsHigh = j.explains(lead.Key)
	j.locate(&v)
	v.Summary = fmt.Sprintf("Fault %s: %s%s (probability %s).", place(lead.Key), lead.Cause.Plain(), v.which(), Percent(lead.Probability))
	if !silent && math.IsNaN(v.Explains) {
		v.Summary += " Nothing was lost to it while this was recorded."
	}
	return v
}

// heard tells whether any frame was.
func (j *judge) heard() bool {
	if j.in.Facts == nil {
		return false
	}
	for i := range j.in.Facts.Senders {
		if j.in.Facts.Senders[i].Frames > 0 {
			return true
		}
	}
	return false
}

// place says where a fault is.
func place(k Key) string {
	switch {
	case k.Side != capture.Line:
		return "at " + SideName(k.Side)
	case k.Cause.Family() == cause.Wiring:
		return "in the wiring"
	}
	return "in the set-up"
}

// undetermined says what is open, and the families' shares where one stands out.
func (j *judge) undetermined(all []Candidate, silent bool) string {
	switch {
	case j.in.Bare && all[0].Cause == cause.None:
		return "Undetermined: nothing that was read speaks of a fault, and only a recording can show a line to be sound."
	case j.told():
	case j.in.Volts != nil && j.in.Volts.OnlyMains:
		return "Undetermined: " + j.in.Volts.mainsSay() + "."
	case j.in.Changes == 0 && j.in.Volts != nil && j.in.Volts.Levels == 1 && !j.in.Volts.Relative:
		return fmt.Sprintf("Undetermined: the line is silent at a constant %s V, and nothing here shows that it should talk (units sleep).", strings.TrimSuffix(strings.TrimRight(fmt.Sprintf("%.2f", j.in.Volts.Constant+0), "0"), "."))
	case j.in.Changes == 0:
		return "Undetermined: the line is silent, and nothing here shows that it should talk (units sleep)."
	case silent:
		return "Undetermined: the level changes, but no talk of one speed and format can be read from it."
	}
	share := map[cause.Family]float64{}
	for _, c := range all {
		share[c.Cause.Family()] += c.Probability
	}
	best := cause.Sound
	for _, f := range []cause.Family{cause.Wiring, cause.Board, cause.Setup, cause.Other} {
		if share[f] > share[best] {
			best = f
		}
	}
	lead := all[0]
	say := fmt.Sprintf("Undetermined: %s leads with %s", lead.Cause.Plain(), Percent(lead.Probability))
	if share[best] >= sure && best != cause.Sound && best != cause.Other {
		say += fmt.Sprintf("; the fault is in the %s with %s in all, but this tap cannot tell its causes apart", best, Percent(share[best]))
	}
	return say + "."
}

// Percent prints a probability without claiming certainty.
func Percent(p float64) string {
	switch {
	case p > 0.999:
		return "over 99.9 %"
	case p < 0.001:
		return "under 0.1 %"
	case p > 0.99 || p < 0.01:
		return fmt.Sprintf("%.1f %%", 100*p)
	}
	return fmt.Sprintf("%.0f %%", 100*p)
}
