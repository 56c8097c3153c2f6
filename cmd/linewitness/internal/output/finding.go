package output

import (
	"bytes"
	"encoding/json"
	"math"
	"sort"
	"time"

	"linewitness/capture"
	"linewitness/decode"
	"linewitness/decode/cause"
	"linewitness/decode/check"
	"linewitness/decode/link"
	"linewitness/decode/tally"
	"linewitness/decode/validate"
	"linewitness/decode/verdict"
)

// FindingSchema names the form of a finding's JSON.
const FindingSchema = "linewitness/finding/1"

// mostInstants is how many instants an evidence shows at most.
const mostInstants = 20

type findingJSON struct {
	Schema     string          `json:"schema"`
	Recording  recordingJSON   `json:"recording"`
	Link       linkJSON        `json:"link"`
	Levels     *levelsJSON     `json:"levels"` // null where no volts were recorded
	Senders    []senderJSON    `json:"senders"`
	Unframed   int64           `json:"unframed"`
	Verdict    verdictJSON     `json:"verdict"`
	Prior      priorJSON       `json:"prior"`
	Actions    []actionJSON    `json:"actions"` // what to do, the likeliest first
	Candidates []candidateJSON `json:"candidates"`
	Also       []alsoJSON      `json:"also"`
	Cleared    []clearedJSON   `json:"cleared"`
	Evidence   []evidenceJSON  `json:"evidence"`
	NextChecks []checkJSON     `json:"next_checks"`
	Values     []valueJSON     `json:"values"` // [] where no profile describes the frames
	Facts      []factJSON      `json:"facts"`  // in a fixed order; [] where no talk could be read
}

type recordingJSON struct {
	Name        string  `json:"name"`
	Tap         string  `json:"tap"`
	TapInferred bool    `json:"tap_inferred"` // not said by whoever recorded it
	Start       *string `json:"start"`
	Duration    moment  `json:"duration_s"`
	Transitions int64   `json:"transitions"`
	Samples     int64   `json:"samples"`
	Lost        moment  `json:"lost_s"`
}

type linkJSON struct {
	Kind     string  `json:"kind"`
	Speed    *number `json:"speed_bd"`
	Format   *string `json:"format"`
	Inverted *bool   `json:"inverted"`
	Framing  string  `json:"framing"`
	checksumJSON
	Learned bool `json:"learned"`
}

type checksumJSON struct {
	Checksum string  `json:"checksum"`
	Covers   []int   `json:"checksum_covers"`
	At       *int    `json:"checksum_at"`
	Order    *string `json:"checksum_order"`
}

type senderJSON struct {
	Side        string         `json:"side"`
	Frames      int64          `json:"frames"`
	Good        int64          `json:"good"`
	Bad         badJSON        `json:"bad"`
	SpeedError  number         `json:"speed_error_ppm"`
	Bias        number         `json:"bias_distortion_pct"`
	Isochronous number         `json:"isochronous_distortion_pct"`
	Turnaround  turnaroundJSON `json:"turnaround_ms"`
}

type badJSON struct {
	Checksum int64 `json:"checksum"`
	Parity   int64 `json:"parity"`
	Stop     int64 `json:"stop"`
	Length   int64 `json:"length"`
	Timing   int64 `json:"timing"`
}

type turnaroundJSON struct {
	P50 number `json:"p50"`
	P99 number `json:"p99"`
}

type verdictJSON struct {
	Family      string  `json:"family"`
	Cause       string  `json:"cause"`
	Side        string  `json:"side"`
	Conductor   *string `json:"conductor"`
	Variant     *string `json:"variant"`
	Place       *string `json:"place"`
	Probability number  `json:"probability"`
	Explains    number  `json:"explains_pct"`
	ExplainsLow number  `json:"explains_low_pct"`
	ExplainsTop number  `json:"explains_high_pct"`
	Summary     string  `json:"summary"`
}

type candidateJSON struct {
	Family      string `json:"family"`
	Cause       string `json:"cause"`
	Side        string `json:"side"`
	Probability number `json:"probability"`
	PriorBits   number `json:"prior_bits"`
}

// priorJSON is what was held likely before the recording, and the leading candidate if all had been alike.
type priorJSON struct {
	History string   `json:"history"`
	Flat    flatJSON `json:"flat"`
	Differs bool     `json:"flat_differs"` // the answer would be another then
}

type flatJSON struct {
	Cause       string `json:"cause"`
	Side        string `json:"side"`
	Probability number `json:"probability"`
}

type actionJSON struct {
	Do          string `json:"do"`
	Probability number `json:"probability"`
}

type alsoJSON struct {
	Cause       string `json:"cause"`
	Side        string `json:"side"`
	Probability number `json:"probability"`
}

type clearedJSON struct {
	What    string `json:"what"`
	Because string `json:"because"`
}

type evidenceJSON struct {
	ID    string            `json:"id"`
	Says  string            `json:"says"`
	Value number            `json:"value"`
	Low   number            `json:"low"`
	High  number            `json:"high"`
	Unit  string            `json:"unit"`
	At    []moment          `json:"at_s"`
	Bits  map[string]number `json:"bits"`
}

// AppendFinding appends f as one line of JSON, line feed included.
func AppendFinding(dst []byte, f *decode.Finding) ([]byte, error) {
	line, err := marshal(newFinding(f))
	if err != nil {
		return dst, err
	}
	return append(dst, line...), nil
}

// marshal is JSON on one line that leaves <, > and & as they are.
func marshal(v any) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	err := e.Encode(v)
	return b.Bytes(), err
}

// quoteJSON is s as a JSON string.
func quoteJSON(s string) []byte {
	b, err := marshal(s)
	if err != nil {
		panic("output: a string without JSON: " + err.Error())
	}
	return bytes.TrimSuffix(b, []byte("\n"))
}

func newFinding(f *decode.Finding) findingJSON {
	r := &f.Recording
	return findingJSON{
		Schema: FindingSchema,
		Recording: recordingJSON{
			Name: r.Name, Tap: r.Tap.String(), TapInferred: r.TapInferred, Start: wallTime(r.Start),
			Duration: moment{r.To - r.From, r.Clock}, Lost: moment{r.Lost, r.Clock},
			Transitions: r.Transitions, Samples: r.Samples,
		},
		Link:     newLink(f.Link),
		Levels:   newLevels(f.Volts, r.Clock),
		Senders:  each(f.Senders, newSender),
		Unframed: f.Unframed,
		Verdict:  newVerdict(&f.Verdict, len(f.Candidates)),
		Prior:    newPrior(&f.Prior),
		Actions: each(f.Actions, func(s *check.Share) actionJSON {
			return actionJSON{string(s.Action), number(s.Probability)}
		}),
		Candidates: each(f.Candidates, func(c *verdict.Candidate) candidateJSON {
			return candidateJSON{c.Cause.Family().String(), c.Cause.String(), c.Side.String(), number(c.Probability), number(c.PriorBits)}
		}),
		Also: each(f.Also, func(c *verdict.Candidate) alsoJSON {
			return alsoJSON{c.Cause.String(), c.Side.String(), number(c.Probability)}
		}),
		Cleared:    each(f.Cleared, func(c *verdict.Cleared) clearedJSON { return clearedJSON{c.What, c.Because} }),
		Evidence:   each(f.Evidence, func(e *verdict.Evidence) evidenceJSON { return newEvidence(e, r.Clock) }),
		NextChecks: each(f.NextChecks, newCheck),
		Values:     each(f.Values, func(v *tally.Value) valueJSON { return newValue(v, r.Clock) }),
		Facts:      each(f.Facts, func(x *validate.Fact) factJSON { return newFact(x, r.Clock) }),
	}
}

// each translates a list; the result is never nil, so that JSON has [] and not null.
func each[From, To any](list []From, translate func(*From) To) []To {
	all := make([]To, 0, len(list))
	for i := range list {
		all = append(all, translate(&list[i]))
	}
	return all
}

// known is nil for what is empty.
func known(s string) *string {
	if s == "" {
		return nil
	}
	return &s
}

func wallTime(t time.Time) *string {
	if t.IsZero() {
		return nil
	}
	return known(t.Format(time.RFC3339Nano))
}

func newLink(p *link.Profile) linkJSON {
	if p == nil {
		return linkJSON{Kind: link.KindUnknown.String(), Framing: link.Framing{}.String(), checksumJSON: noChecksum("unknown")}
	}
	l := linkJSON{
		Kind: p.Kind.String(), Framing: p.Framing.String(), checksumJSON: newChecksum(p),
		Inverted: &p.Line.Inverted, Learned: p.Learned,
	}
	if p.Line.Speed > 0 {
		l.Speed = (*number)(&p.Line.Speed)
	}
	if p.Line.Format.Valid() {
		l.Format = known(p.Line.Format.String())
	}
	return l
}

func noChecksum(why string) checksumJSON { return checksumJSON{Checksum: why, Covers: []int{}} }

func newSender(s *decode.Sender) senderJSON {
	const milli = 1000
	return senderJSON{
		Side: s.Side.String(), Frames: s.Frames, Good: s.Good, Bad: badJSON(s.Bad),
		SpeedError: number(s.SpeedErrorPPM), Bias: number(s.BiasPct), Isochronous: number(s.IsochronousPct),
		Turnaround: turnaroundJSON{number(s.TurnP50 * milli), number(s.TurnP99 * milli)},
	}
}

func newVerdict(v *verdict.Verdict, candidates int) verdictJSON {
	j := verdictJSON{
		Family: v.Family.String(), Cause: v.Cause.String(), Side: v.Side.String(),
		Conductor: known(v.Conductor), Variant: known(v.Variant), Place: known(v.Place),
		Probability: number(v.Probability), Explains: number(v.Explains), ExplainsLow: number(v.ExplainsLow), ExplainsTop: number(v.ExplainsHigh), Summary: v.Summary,
	}
	if math.IsNaN(v.Explains) {
		j.ExplainsLow, j.ExplainsTop = j.Explains, j.Explains
	}
	if v.Undetermined {
		j.Family, j.Cause, j.Side = "undetermined", cause.Unknown.String(), capture.SideUnknown.String()
		j.Conductor, j.Variant, j.Place = nil, nil, nil
		if candidates == 0 {
			j.Probability = number(math.NaN()) // nobody leads
		}
	}
	return j
}

func newPrior(p *verdict.Prior) priorJSON {
	return priorJSON{p.History, flatJSON{p.Flat.Cause.String(), p.Flat.Side.String(), number(p.Flat.Probability)}, p.Differs}
}

func newEvidence(e *verdict.Evidence, clock capture.Clock) evidenceJSON {
	at := firstInstants(e.At)
	j := evidenceJSON{
		ID: e.ID, Says: e.Says, Value: number(e.Value), Low: number(e.Low), High: number(e.High), Unit: e.Unit,
		At:   each(at, func(t *capture.Tick) moment { return moment{*t, clock} }),
		Bits: make(map[string]number, len(e.Bits)),
	}
	for key, bits := range e.Bits {
		j.Bits[key.String()] = number(bits)
	}
	return j
}

// firstInstants is at most the first 20, ascending, whatever the order they came in.
func firstInstants(at []capture.Tick) []capture.Tick {
	rises := func(i, j int) bool { return at[i] < at[j] }
	if !sort.SliceIsSorted(at, rises) {
		at = append([]capture.Tick(nil), at...)
		sort.Slice(at, rises)
	}
	return at[:min(len(at), mostInstants)]
}
