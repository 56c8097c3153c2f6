package linkfile

import (
	"reflect"

	"linewitness/capture"
	"linewitness/decode/link"
	"linewitness/decode/uart"
)

// Read reads a profile. name stands in errors, which are all *Error. data is at most 1 MiB with at most 30,000 words, marks
// and comments (and 100,000 line ends and characters that could be marks); a byte-order mark before it is skipped.
func Read(name string, data []byte) (*link.Profile, error) {
	src := string(data)
	if len(src) >= len(byteOrderMark) && src[:len(byteOrderMark)] == byteOrderMark {
		src = src[len(byteOrderMark):]
	}
	p, err := read(src)
	if err != nil {
		err.Name, err.Source = name, lineOf(src, err.Line)
		return nil, err
	}
	return p, nil
}

func read(src string) (*link.Profile, *Error) {
	root, err := parse(src)
	if err != nil {
		return nil, err
	}
	b := builder{places: &places{values: map[string]*node{}, keys: map[string]*node{}}, doc: &document{}, p: &link.Profile{}}
	v := reflect.ValueOf(b.doc).Elem()
	setDefaults(v)
	if err := b.bind(v, root, "", limits{}); err != nil {
		return nil, err
	}
	for _, part := range []func() *Error{b.head, b.framing, b.sum, b.timing, b.address, b.shapes} {
		if err := part(); err != nil {
			return nil, err
		}
	}
	return b.p, nil
}

// builder makes the profile of the document and checks what one value says against another.
type builder struct {
	*places
	doc *document
	p   *link.Profile
}

var (
	sides = map[string]capture.Side{"unknown": capture.SideUnknown, "indoor": capture.Indoor, "outdoor": capture.Outdoor,
		"a": capture.SideA, "b": capture.SideB}
	kinds   = map[string]link.Kind{"loop3": link.Loop3, "pair": link.TwoWire, "logic": link.Logic}
	counts  = map[string]link.Counts{"all": link.CountsAll, "rest": link.CountsRest, "payload": link.CountsPayload}
	codings = map[string]link.Coding{"plain": link.CodingPlain, "escape": link.CodingEscape, "hex": link.CodingHex}
)

func (b *builder) head() *Error {
	d, p := b.doc, b.p
	p.Name, p.Note, p.Invented, p.Kind = string(d.Name), string(d.Note), d.Invented, kinds[d.Kind]
	form, _ := uart.ParseFormat(string(d.Line.Format))
	p.Line = uart.Line{Speed: d.Line.Speed, Format: form, Inverted: d.Line.Inverted}
	p.Controller, p.Responder = sides[d.Roles.Controller], sides[d.Roles.Responder]
	if p.Controller == p.Responder && p.Controller != capture.SideUnknown {
		return b.wrong("roles.responder", "another side than the controller's", d.Roles.Responder)
	}
	if s := d.Supply; s != nil {
		p.Feed = sides[s.From]
		p.Supply = link.Supply{Volts: s.Volts, HalfWave: s.Waveform == "half-wave", Reference: s.Reference}
	}
	return nil
}

func (b *builder) timing() *Error {
	t := &b.doc.Timing
	b.p.Timing = link.Timing{PollPeriod: float64(t.PollPeriod), TwoTalkers: t.TwoTalkers, Retries: t.Retries, RetryAfter: float64(t.RetryAfter),
		SlowPeriod: float64(t.SlowPeriod), SlowAfter: t.SlowAfter, FaultAfter: t.FaultAfter}
	if len(t.Turnaround) == 0 {
		return nil
	}
	least, most := float64(t.Turnaround[0]), float64(t.Turnaround[1])
	if most < least {
		return b.wrong("timing.turnaround_ms[1]", "no less than the shortest", b.values["timing.turnaround_ms[1]"].found())
	}
	b.p.Timing.TurnaroundMin, b.p.Timing.TurnaroundMax = least, most
	return nil
}
