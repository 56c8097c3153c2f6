package linkfile

import (
	"linewitness/capture"
	"linewitness/decode/link"
	"linewitness/decode/link/strict"
	"linewitness/decode/uart"
)

// Error is a mistake in a file: where it stands, what was expected there and what was found.
type Error = strict.Error

// Read reads a profile. name stands in errors, which are all *Error. data is at most 1 MiB with at most 30,000 words, marks
// and comments (and 100,000 line ends and characters that could be marks); a byte-order mark before it is skipped.
func Read(name string, data []byte) (*link.Profile, error) {
	p, err := read(name, data)
	if err != nil {
		return nil, err
	}
	return p, nil
}

func read(name string, data []byte) (*link.Profile, *strict.Error) {
	b := builder{doc: &document{}, p: &link.Profile{}}
	places, err := strict.Read(name, data, "a link profile", b.doc)
	if err != nil {
		return nil, err
	}
	b.Places = places
	for _, part := range []func() *strict.Error{b.head, b.framing, b.sum, b.timing, b.address, b.shapes} {
		if err := part(); err != nil {
			return nil, err
		}
	}
	return b.p, nil
}

// builder makes the profile of the document and checks what one value says against another.
type builder struct {
	*strict.Places
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

func (b *builder) head() *strict.Error {
	d, p := b.doc, b.p
	p.Name, p.Note, p.Invented, p.Kind = string(d.Name), string(d.Note), d.Invented, kinds[d.Kind]
	form, _ := uart.ParseFormat(string(d.Line.Format))
	p.Line = uart.Line{Speed: d.Line.Speed, Format: form, Inverted: d.Line.Inverted}
	p.Controller, p.Responder = sides[d.Roles.Controller], sides[d.Roles.Responder]
	if p.Controller == p.Responder && p.Controller != capture.SideUnknown {
		return b.Wrong("roles.responder", "another side than the controller's", d.Roles.Responder)
	}
	if s := d.Supply; s != nil {
		p.Feed = sides[s.From]
		p.Supply = link.Supply{Volts: s.Volts, HalfWave: s.Waveform == "half-wave", Reference: s.Reference}
	}
	return nil
}

func (b *builder) timing() *strict.Error {
	t := &b.doc.Timing
	b.p.Timing = link.Timing{PollPeriod: t.PollPeriod, TwoTalkers: t.TwoTalkers, Retries: t.Retries, RetryAfter: t.RetryAfter,
		SlowPeriod: t.SlowPeriod, SlowAfter: t.SlowAfter, FaultAfter: t.FaultAfter}
	if len(t.Turnaround) == 0 {
		return nil
	}
	least, most := t.Turnaround[0], t.Turnaround[1]
	if most < least {
		return b.Wrong("timing.turnaround_ms[1]", "no less than the shortest", b.Value("timing.turnaround_ms[1]").Found())
	}
	b.p.Timing.TurnaroundMin, b.p.Timing.TurnaroundMax = least, most
	return nil
}
