package plots

import (
	"bytes"
	_ "embed"
	"fmt"
	"html"
	"html/template"
	"io"
	"math"
	"sort"
	"strconv"
	"strings"
	"time"

	"linewitness/capture"
	"linewitness/decode"
	"linewitness/decode/cause"
	"linewitness/decode/check"
	"linewitness/decode/link"
	"linewitness/decode/tally"
	"linewitness/decode/uart"
	"linewitness/decode/verdict"
)

// Options shape a report. The zero value is the default.
type Options struct {
	Made time.Time // printed at the foot; zero: not printed
}

//go:embed page.tmpl.html
var pageText string

var page = template.Must(template.New("page").Parse(pageText))

// The page's own words: strings, already put for a reader. html/template escapes all of them; only the figures, drawn
// here, go in as they are.
type (
	pageData struct {
		Name, Answer, Odds, Where string
		Actions, Prior            string
		Tone                      string // sound, fault or open
		Cleared                   []verdict.Cleared
		Checks                    []checkRow
		Caution                   string
		Evidence                  []evidenceRow
		Candidates, Also          []oddsRow
		Senders                   []senderRow
		Unframed                  int64
		Charts, Figures           []figureRow
		Recording, Link, Levels   []pair
		Made                      string
	}
	checkRow struct {
		ID, Do, Caution, Gain, Minutes, Separates string
		Live                                      bool
	}
	evidenceRow struct {
		ID, Says, Value, Interval, Times, More, Toward string
	}
	oddsRow struct {
		Name, ID, Side, Share string
		Width                 string // of the bar, in per cent
	}
	senderRow struct {
		Side, Frames, Good, Checksum, Parity, Stop, Length, Timing, Speed, Bias, Isochronous, Turn string
	}
	figureRow struct {
		SVG            template.HTML
		Title, Caption string
	}
	pair struct{ What, Value string }
)

// WritePage writes the report as one HTML page that needs nothing else: style and figures are inside, there is no
// script.
func WritePage(w io.Writer, f *decode.Finding, opt Options) error {
	d := pageData{
		Name:     f.Recording.Name,
		Answer:   answer(&f.Verdict),
		Odds:     odds(&f.Verdict),
		Where:    where(&f.Verdict),
		Tone:     tone(&f.Verdict),
		Cleared:  f.Cleared,
		Checks:   checks(f.NextChecks),
		Caution:  f.Caution,
		Evidence: evidence(f),
		Unframed: f.Unframed,
		Actions:  actions(f.Actions),
		Prior:    prior(&f.Prior),
	}
	if f.Basis != nil && f.Basis.Bare {
		d.Name = "a line of which nothing was recorded, by what was read there by hand"
	} else if d.Name == "" || d.Name == "-" {
		d.Name = "recording from standard input"
	}
	d.Candidates, d.Also = oddsRows(f.Candidates), oddsRows(f.Also)
	for i := range f.Senders {
		d.Senders = append(d.Senders, senderOf(&f.Senders[i]))
	}
	d.Levels = levelRows(f.Volts)
	d.Recording, d.Link = recordingRows(&f.Recording), linkRows(f.Link)
	if !opt.Made.IsZero() {
		d.Made = opt.Made.Format("2 January 2006, 15:04 MST")
	}
	for _, c := range Charts(f) {
		var b bytes.Buffer
		if err := WriteSVG(&b, c.Plot); err != nil {
			return err
		}
		row := figureRow{Title: c.Title, Caption: c.Caption}
		row.SVG = inline(b.Bytes(), row.Title+". "+row.Caption)
		d.Charts = append(d.Charts, row)
	}
	for i := range f.Excerpts {
		row, err := figureOf(&f.Excerpts[i], f.Recording.Clock, lineOf(f.Link), i+1)
		if err != nil {
			return err
		}
		d.Figures = append(d.Figures, row)
	}
	return page.Execute(w, d)
}

func lineOf(p *link.Profile) uart.Line {
	if p == nil {
		return uart.Line{}
	}
	return p.Line
}

func answer(v *verdict.Verdict) string {
	switch {
	case v.Summary != "":
		return v.Summary
	case v.Undetermined:
		return "The recording does not decide it."
	case v.Cause == cause.None:
		return "The line is sound."
	}
	return fmt.Sprintf("Most likely %s, side: %s.", v.Cause, v.Side)
}

func odds(v *verdict.Verdict) string {
	p := share(v.Probability)
	switch {
	case p == notMeasured:
		return "Probability not measured."
	case v.Undetermined:
		return "Not decided: the leading candidate has a probability of " + p + "."
	}
	s := "Probability " + p + "."
	if !math.IsNaN(v.Explains) && v.Cause != cause.None {
		s += " It accounts for " + number(v.Explains) + " % of the lost or bad frames beyond chance."
	}
	return s
}

func tone(v *verdict.Verdict) string {
	switch {
	case v.Undetermined:
		return "open"
	case v.Cause == cause.None:
		return "sound"
	}
	return "fault"
}

// where names what the verdict points at, in the ids that other programs read; nothing while it is undetermined.
func where(v *verdict.Verdict) string {
	if v.Undetermined {
		return ""
	}
	parts := []string{v.Family.String() + ": " + v.Key.String()}
	for _, p := range []pair{{"conductor", v.Conductor}, {"variant", v.Variant}, {"place", v.Place}} {
		if p.Value != "" {
			parts = append(parts, p.What+" "+p.Value)
		}
	}
	return strings.Join(parts, ", ")
}

func checks(all []check.Ranked) []checkRow {
	var rows []checkRow
	for _, c := range all {
		gain := ""
		if !math.IsNaN(c.Gain) {
			gain = withUnit(c.Gain, "bit")
		}
		rows = append(rows, checkRow{ID: c.ID, Do: c.Do, Caution: c.Caution, Live: c.Live, Minutes: number(c.Minutes),
			Gain: gain, Separates: strings.Join(c.Separates, ", ")})
	}
	return rows
}

// shownTimes is how many instants of a fact stand in the table's cell.
const shownTimes = 5

func evidence(f *decode.Finding) []evidenceRow {
	var rows []evidenceRow
	for i := range f.Evidence {
		e := &f.Evidence[i]
		row := evidenceRow{ID: e.ID, Says: e.Says, Value: withUnit(e.Value, e.Unit), Interval: interval(e.Low, e.High, e.Unit)}
		var at []string
		for _, t := range e.At[:min(len(e.At), shownTimes)] {
			at = append(at, seconds(f.Recording.Clock, t))
		}
		row.Times = strings.Join(at, ", ")
		if n := len(e.At) - shownTimes; n > 0 {
			row.More = fmt.Sprintf("and %d more kept", n)
		}
		row.Toward = toward(e.Bits)
		rows = append(rows, row)
	}
	return rows
}

// toward names the candidates that a fact moves most, with its weight in bits.
func toward(bits map[verdict.Key]float64) string {
	keys := make([]verdict.Key, 0, len(bits))
	for k, v := range bits {
		if math.Abs(v) >= 0.05 {
			keys = append(keys, k)
		}
	}
	sort.Slice(keys, func(i, j int) bool {
		a, b := math.Abs(bits[keys[i]]), math.Abs(bits[keys[j]])
		if a != b {
			return a > b
		}
		return keys[i].String() < keys[j].String()
	})
	var parts []string
	for _, k := range keys[:min(len(keys), 3)] {
		parts = append(parts, fmt.Sprintf("%s %+.1f", k, bits[k]))
	}
	return strings.Join(parts, ", ")
}

// Of what to do no more is told than so many, and what has at least this share.
const (
	mostActions = 3
	leastAction = 0.05
)

// actions are what to do, in words, the likeliest first.
func actions(all []check.Share) string {
	var says []string
	for i, a := range all {
		if i == mostActions || i > 0 && a.Probability < leastAction {
			break
		}
		says = append(says, fmt.Sprintf("%s (%s)", a.Action, share(a.Probability)))
	}
	return strings.Join(says, "; ")
}

// prior says what was assumed before the recording, where that matters.
func prior(p *verdict.Prior) string {
	var says []string
	if p.History != "" {
		says = append(says, "Assumed beforehand: "+p.History+".")
	}
	if p.Differs {
		says = append(says, fmt.Sprintf("With all candidates held alike beforehand, %s would lead with %s.", p.Flat.Cause.Plain(), share(p.Flat.Probability)))
	}
	return strings.Join(says, " ")
}

func oddsRows(all []verdict.Candidate) []oddsRow {
	var rows []oddsRow
	for _, c := range all {
		width := 0.0
		if c.Probability > 0 {
			width = min(c.Probability, 1) * 100
		}
		rows = append(rows, oddsRow{Name: c.Cause.Plain(), ID: c.Key.String(), Side: c.Side.String(), Share: share(c.Probability),
			Width: strconv.FormatFloat(width, 'f', 1, 64)})
	}
	return rows
}

func senderOf(s *decode.Sender) senderRow {
	row := senderRow{
		Side: s.Side.String(), Frames: fmt.Sprint(s.Frames), Good: fmt.Sprint(s.Good),
		Checksum: fmt.Sprint(s.Bad.Checksum), Parity: fmt.Sprint(s.Bad.Parity), Stop: fmt.Sprint(s.Bad.Stop),
		Length: fmt.Sprint(s.Bad.Length), Timing: fmt.Sprint(s.Bad.Timing),
		Speed: withUnit(s.SpeedErrorPPM, "ppm"), Bias: withUnit(s.BiasPct, "%"), Isochronous: withUnit(s.IsochronousPct, "%"),
	}
	if row.Speed != notMeasured && !math.IsNaN(s.SpeedPM) {
		row.Speed = number(s.SpeedErrorPPM) + " ± " + number(s.SpeedPM) + " ppm"
	}
	p50, p99 := number(s.TurnP50*1e3), number(s.TurnP99*1e3)
	switch {
	case p50 == notMeasured:
		row.Turn = notMeasured
	case p99 == notMeasured:
		row.Turn = p50 + " ms"
	default:
		row.Turn = p50 + " / " + p99 + " ms"
	}
	return row
}

func recordingRows(r *decode.Recording) []pair {
	tap := r.Tap.String()
	if r.TapInferred {
		tap += " (inferred from the recording)"
	}
	start := notMeasured
	if !r.Start.IsZero() {
		start = r.Start.Format("2 January 2006, 15:04:05 MST")
	}
	duration, lost := notMeasured, notMeasured
	if r.Clock.Valid() {
		duration = number(r.Clock.Seconds(r.To-r.From)) + " s"
		lost = number(r.Clock.Seconds(r.Lost)) + " s"
		if r.Gaps > 0 {
			lost += " in " + count(int(r.Gaps), "interval")
		}
	}
	samples := fmt.Sprint(r.Samples)
	if r.Samples == 0 {
		samples = "none in this recording"
	}
	return []pair{
		{"Tap", tap}, {"Zero of the time axis", start},
		{"Covered", seconds(r.Clock, r.From) + " s to " + seconds(r.Clock, r.To) + " s (" + duration + ")"},
		{"Lost", lost}, {"Transitions", fmt.Sprint(r.Transitions)}, {"Samples", samples},
	}
}

func linkRows(p *link.Profile) []pair {
	if p == nil {
		return nil
	}
	source := "from the profile " + p.Name
	if p.Learned {
		source = "learned from this recording"
	}
	polarity := "high (or current) is mark"
	if p.Line.Inverted {
		polarity = "low (or no current) is mark"
	}
	rows := []pair{
		{"Known", source}, {"Kind", p.Kind.String()}, {"Speed", positive(p.Line.Speed, "Bd")},
		{"Character format", p.Line.Format.String()}, {"Polarity", polarity}, {"Framing", p.Framing.String()},
		{"Silence that ends a frame", positive(p.Framing.Gap*1e3, "ms")}, {"Checksum", checksumOf(p)},
		{"Who polls, who answers", p.Controller.String() + ", " + p.Responder.String()},
		{"From poll to poll", positive(p.Timing.PollPeriod, "s")},
		{"Turn-around, longest allowed", positive(p.Timing.TurnaroundMax*1e3, "ms")},
	}
	if len(p.Equivalent) > 0 {
		rows = append(rows, pair{"What this recording cannot tell apart", strings.Join(p.Equivalent, "; ")})
	}
	return rows
}

// checksumOf says which sum it is, over what, and where it stands; places count from 0, or from the frame's end.
func checksumOf(p *link.Profile) string {
	switch {
	case p.Checksum != nil && p.Checksum.Sum != nil:
		s := fmt.Sprintf("%s, from character %s up to %s, standing at %s", p.Checksum.Sum,
			position(p.Checksum.From, false), position(p.Checksum.To, true), position(p.Checksum.At, false))
		if p.Checksum.Sum.Size() > 1 {
			s += ", " + p.Checksum.Order.String() + " end first"
		}
		return s
	case p.NoChecksum:
		return "none"
	}
	return "unknown"
}

func position(n int, end bool) string {
	switch {
	case n < 0:
		return fmt.Sprintf("the end - %d", -n)
	case n == 0 && end:
		return "the end"
	}
	return fmt.Sprint(n)
}

// positive prints a quantity of which 0 means unknown.
func positive(v float64, unit string) string {
	if v == 0 {
		return "unknown"
	}
	return withUnit(v, unit)
}

func figureOf(e *tally.Excerpt, clock capture.Clock, line uart.Line, n int) (figureRow, error) {
	var b bytes.Buffer
	if err := WriteSVG(&b, Line(*e, clock, line)); err != nil {
		return figureRow{}, err
	}
	title := clean(e.What, 90)
	if title == "" {
		title = "the line"
	}
	row := figureRow{Title: fmt.Sprintf("Figure %d: %s", n, title), Caption: caption(e, clock)}
	row.SVG = inline(b.Bytes(), row.Title+". "+row.Caption)
	return row, nil
}

// inline is an SVG document as an element of a page: without the prologue, sized by the page's style.
func inline(doc []byte, label string) template.HTML {
	s := string(doc)
	if i := strings.Index(s, "<svg"); i >= 0 {
		if j := strings.IndexByte(s[i:], '>'); j >= 0 {
			s = s[i+j+1:]
		}
	}
	open := fmt.Sprintf(`<svg class="line" role="img" aria-label="%s" viewBox="0 0 %g %g" xmlns="http://www.w3.org/2000/svg">`,
		html.EscapeString(label), float64(Width), float64(Height))
	return template.HTML(open + s)
}

// caption says what is seen in a figure, and when.
func caption(e *tally.Excerpt, clock capture.Clock) string {
	s := fmt.Sprintf("From %s s to %s s: %s, %s", seconds(clock, e.From), seconds(clock, e.To),
		count(len(e.Line.At), "transition"), count(len(e.Frames), "frame"))
	bad, cut := 0, 0
	for i := range e.Frames {
		switch {
		case frameBroken(&e.Frames[i]):
			bad++
		case e.Frames[i].Why != 0:
			cut++
		}
	}
	if bad > 0 {
		s += fmt.Sprintf(", %d of them out of order", bad)
	}
	if cut > 0 {
		s += fmt.Sprintf(", %d cut off by an edge of the recording or a gap", cut)
	}
	if len(e.Glitches) > 0 {
		s += ", " + count(len(e.Glitches), "pulse") + " too short for a bit"
	}
	s += "."
	switch {
	case e.Good:
		s += " Shown for comparison."
	case e.Like > 0:
		s += fmt.Sprintf(" Compare it with figure %d, a good frame of the same sender.", e.Like)
	}
	return s
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
