package linkfile

import (
	"errors"
	"fmt"
	"io"
	"reflect"
	"slices"

	"linewitness/decode/checksum"
	"linewitness/decode/link"
	"linewitness/decode/link/strict"
)

// ErrUnsayable is what Write gives, with what is wrong, for a profile that Read would not give back from its file.
var ErrUnsayable = errors.New("no profile file can say this link")

// Write writes a profile so that Read gives it back equal, but for what stands in no file (see the package comment).
// A profile that breaks a rule of the file is an ErrUnsayable; then nothing was written.
func Write(w io.Writer, p *link.Profile) error {
	d, err := documentOf(p)
	if err != nil {
		return fmt.Errorf("%w: %w", ErrUnsayable, err)
	}
	out := strict.Write(d)
	back, bad := read("profile", out)
	if bad != nil {
		return fmt.Errorf("%w: %w", ErrUnsayable, bad)
	}
	if want := said(p); !reflect.DeepEqual(want, said(back)) {
		return fmt.Errorf("%w: %s would be another in the file", ErrUnsayable, differs(want, said(back)))
	}
	_, err = w.Write(out)
	return err
}

// said is the part of a profile that stands in a file; lists of no length are nil.
func said(p *link.Profile) *link.Profile {
	q := *p
	q.Measured, q.Learned, q.Equivalent, q.Spaces, q.Either, q.Line.Mid = 0, false, nil, 0, false, false
	if q.FeedAssumed {
		q.FeedAssumed, q.Feed = false, 0
	}
	q.Framing.Start, q.Framing.End = short(q.Framing.Start), short(q.Framing.End)
	if p.Address != nil {
		q.Address = &link.Address{At: p.Address.At, Names: short(p.Address.Names)}
	}
	q.Shapes = short(slices.Clone(p.Shapes))
	for i := range q.Shapes {
		s := &q.Shapes[i]
		s.Match, s.Answers, s.Constant, s.Fields = short(s.Match), short(s.Answers), short(s.Constant), short(slices.Clone(s.Fields))
		for k := range s.Fields {
			s.Fields[k].Names = short(s.Fields[k].Names)
		}
	}
	return &q
}

func short[T any](list []T) []T {
	if len(list) == 0 {
		return nil
	}
	return list
}

// differs names the first part in which two profiles differ.
func differs(a, b *link.Profile) string {
	x, y := reflect.ValueOf(a).Elem(), reflect.ValueOf(b).Elem()
	for i := range x.NumField() {
		if !reflect.DeepEqual(x.Field(i).Interface(), y.Field(i).Interface()) {
			return "its " + x.Type().Field(i).Name
		}
	}
	return "nothing"
}

// documentOf makes the document of a profile. What the document can't hold is an error; what it may not hold Write
// finds by reading the document.
func documentOf(p *link.Profile) (*document, error) {
	d := &document{Name: text(p.Name), Invented: p.Invented, Note: prose(p.Note), Kind: keyOf(kinds, p.Kind)}
	strict.SetDefaults(d)
	d.Schema = SchemaName
	if d.Kind == "" {
		return nil, fmt.Errorf("kind: expected loop3, pair or logic, found %s", p.Kind)
	}
	if !p.Line.Format.Valid() {
		return nil, errors.New("line.format: expected a character format, found none")
	}
	d.Line = linePart{Speed: p.Line.Speed, Format: format(p.Line.Format.String()), Inverted: p.Line.Inverted}
	d.Roles = rolesPart{Controller: keyOf(sides, p.Controller), Responder: keyOf(sides, p.Responder)}
	d.Supply = supplyOf(p)
	d.Framing = framingOf(&p.Framing, p.Line.Format.Length()/p.Line.Speed, p.Line.Format.DataBits)
	d.Checksum = sumOf(p)
	t := &p.Timing
	d.Timing = timingPart{PollPeriod: t.PollPeriod, Retries: t.Retries, RetryAfter: t.RetryAfter, SlowPeriod: t.SlowPeriod,
		SlowAfter: t.SlowAfter, FaultAfter: t.FaultAfter, TwoTalkers: t.TwoTalkers}
	if t.TurnaroundMin != 0 || t.TurnaroundMax != 0 {
		d.Timing.Turnaround = []float64{t.TurnaroundMin, t.TurnaroundMax}
	}
	if a := p.Address; a != nil {
		d.Address = &addressPart{At: a.At}
		for _, u := range a.Names {
			d.Address.Units = append(d.Address.Units, unitPart{Value: int(u.Value), Name: text(u.Name), Side: keyOf(sides, u.Side)})
		}
	}
	for i := range p.Shapes {
		d.Frames = append(d.Frames, frameOf(&p.Shapes[i]))
	}
	return d, nil
}

// keyOf is the word that stands for v; empty: none does.
func keyOf[T comparable](words map[string]T, v T) string {
	for word, value := range words {
		if value == v {
			return word
		}
	}
	return ""
}

func supplyOf(p *link.Profile) *supplyPart {
	feed := p.Feed
	if p.FeedAssumed {
		feed = 0
	}
	if feed == 0 && p.Supply == (link.Supply{}) {
		return nil
	}
	s := &supplyPart{From: keyOf(sides, feed), Volts: p.Supply.Volts, Waveform: "dc", Reference: p.Supply.Reference}
	if p.Supply.HalfWave {
		s.Waveform = "half-wave"
	}
	return s
}

func sumOf(p *link.Profile) *sumPart {
	switch s := p.Checksum; {
	case s != nil && s.Sum != nil:
		return &sumPart{Rule: text(s.Sum.String()), Covers: []int{s.From, s.To}, At: s.At, Order: orderWord(s.Order)}
	case p.NoChecksum:
		return &sumPart{Rule: "none", Order: "big"}
	}
	return nil
}

func orderWord(o checksum.Order) string {
	if o == checksum.Little {
		return "little"
	}
	return "big"
}
