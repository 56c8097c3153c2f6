package output

import (
	"linewitness/capture"
	"linewitness/decode"
	"linewitness/decode/compare"
)

// ComparisonSchema names the form of a comparison's JSON.
const ComparisonSchema = "linewitness/comparison/1"

// Comparison is two recordings set beside each other, with all that was found on the way: what a figure needs too.
type Comparison struct {
	Names         [2]string
	First, Second *decode.Finding
	TwoTaps       bool   // else before and after
	Given         bool   // the user said which
	Why           string // they are not taken as two taps; "" where the user said so
	Ends          compare.Ends
	LinkFrom      string              // the recording whose link both were read by; "" its own, or a profile's
	Profile       bool                // a profile described the link
	Alignment     *compare.Alignment  // nil: not tried
	Losses        *compare.Losses     // nil unless they are aligned as two taps
	Conclusion    *compare.Conclusion // the same
	Changes       *compare.Changes    // of two taps: differences between the ends
}

type comparisonJSON struct {
	Schema     string          `json:"schema"`
	Kind       string          `json:"kind"` // two-taps, before-after
	Given      bool            `json:"kind_given"`
	Why        *string         `json:"kind_because"` // why before-after, where nobody said so
	Recordings []sideOfJSON    `json:"recordings"`
	LinkFrom   *string         `json:"link_from"`
	Alignment  *alignmentJSON  `json:"alignment"`  // null where none was sought
	Losses     *lossesJSON     `json:"losses"`     // null unless aligned as two taps
	Conclusion *conclusionJSON `json:"conclusion"` // the same
	Changes    []changeJSON    `json:"changes"`    // the second against the first
	Summary    []string        `json:"summary"`
}

type sideOfJSON struct {
	recordingJSON
	End     *string     `json:"end"` // of two taps: the unit it is near to
	Link    linkJSON    `json:"link"`
	Verdict verdictJSON `json:"verdict"`
}

type alignmentJSON struct {
	Aligned   bool    `json:"aligned"`
	Sure      bool    `json:"one_conversation"` // shown by the units' own timing
	Why       *string `json:"because"`          // why not
	Offset    number  `json:"offset_s"`         // second less first
	OffsetErr number  `json:"offset_error_s"`   // standard error
	At        number  `json:"offset_at_s"`      // on the first's axis
	Drift     number  `json:"drift_ppm"`        // positive: the second's clock counts more
	DriftErr  number  `json:"drift_error_ppm"`
	Scatter   number  `json:"scatter_us"` // of single frames about the line
	Matched   int     `json:"matched_frames"`
	Whole     []int   `json:"whole_frames"` // of each recording while both recorded
	Chance    number  `json:"chance_of_timing"`
	From      number  `json:"both_from_s"` // on the first's axis
	To        number  `json:"both_to_s"`
}

type lossesJSON struct {
	Seconds number       `json:"duration_s"`
	Senders []sentJSON   `json:"senders"`
	Opposed happenedJSON `json:"opposed"` // spaces that each end takes for another sender's
	Bursts  burstsJSON   `json:"bursts"`
	Polls   *pollsJSON   `json:"polls"` // null where nobody was seen to ask
}

type sentJSON struct {
	Side       string       `json:"side"`
	Whole      int          `json:"whole"` // at both ends
	FirstOnly  happenedJSON `json:"first_only"`
	SecondOnly happenedJSON `json:"second_only"`
	Alike      happenedJSON `json:"damaged_alike"`
	Unalike    happenedJSON `json:"damaged_otherwise"`
	Lost       *shareJSON   `json:"lost"` // whole at its own end, not at the other; null where it is not known which is its own
}

type happenedJSON struct {
	Frames   int      `json:"frames"`
	Missing  int      `json:"missing"` // of them, those of which one end shows nothing
	Episodes int      `json:"episodes"`
	At       []moment `json:"at_s"`        // on the first's axis
	Second   []moment `json:"second_at_s"` // on the second's
}

type burstsJSON struct {
	First  int `json:"first_only"`
	Second int `json:"second_only"`
}

type pollsJSON struct {
	By         string       `json:"by"`
	Heard      int          `json:"arrived"`
	Lost       int          `json:"not_arrived"`
	Unanswered happenedJSON `json:"unanswered"`
	Share      shareJSON    `json:"unanswered_share"`
}

type shareJSON struct {
	Count int    `json:"count"`
	Of    int    `json:"of"`
	Value number `json:"pct"`
	Low   number `json:"low_pct"`
	High  number `json:"high_pct"`
}

type conclusionJSON struct {
	Between  string       `json:"between_taps"` // shown, mixed, one-end, few, not-seen, unmeasured
	Share    shareJSON    `json:"whole_at_one_end"`
	Episodes int          `json:"episodes"`
	Common   int          `json:"episodes_at_both"`
	Opened   bool         `json:"opened"`               // the line stood open between the taps
	End      *string      `json:"one_end"`              // first, second; null but of one-end
	Own      []originJSON `json:"left_their_sender_so"` // nothing wrong but the checksum
	Silent   *originJSON  `json:"did_not_answer"`       // null where nobody was seen to ask
}

type originJSON struct {
	Side     string    `json:"side"`
	Share    shareJSON `json:"share"`
	Episodes int       `json:"episodes"`
	Shown    bool      `json:"shown"`
}

type changeJSON struct {
	ID         string     `json:"id"`
	Side       string     `json:"side"`
	Unit       string     `json:"unit"`
	Test       string     `json:"test"`
	Before     figureJSON `json:"first"`
	After      figureJSON `json:"second"`
	Difference figureJSON `json:"difference"`
	P          number     `json:"p"`
	Adjusted   number     `json:"p_adjusted"`
	Changed    bool       `json:"changed"`
	FewRuns    bool       `json:"few_runs"` // it would be one if frames were independent
	Unseen     number     `json:"unseen_below"`
	Not        *string    `json:"not_comparable"`
}

type figureJSON struct {
	Value number `json:"value"`
	Low   number `json:"low"`
	High  number `json:"high"`
	N     int    `json:"n"`
	Runs  *int   `json:"runs"` // of a share, those that it stands in; null of what is none
}

// kind is what the recordings are taken as, in the JSON's word.
func (c *Comparison) kind() string {
	if c.TwoTaps {
		return "two-taps"
	}
	return "before-after"
}

// end is the side that a recording's tap is near to; SideUnknown: they are no two taps.
func (c *Comparison) end(second bool) capture.Side {
	switch {
	case !c.TwoTaps:
		return capture.SideUnknown
	case second:
		return c.Ends.Second
	}
	return c.Ends.First
}
