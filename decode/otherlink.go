package decode

import (
	"math"

	"linewitness/capture"
	"linewitness/decode/learn"
	"linewitness/decode/link"
	"linewitness/decode/validate"
)

// otherLink looks whether a line speaks another link than the one described: it keeps the beginning of the talk, learns a link from it
// as if none had been given, and compares how much of it either proves by its checksum. Only where the described link reads less than
// half; a link that reads its line is not doubted.
type otherLink struct {
	head []capture.Block
	n    int   // transitions
	size int64 // bytes
	fact validate.Fact
	done bool
}

// otherLinkID is the fact's: by how many bits the frames that a learned link proves outweigh those that the given one does.
const otherLinkID = "structure.link-gain"

// Bits that a learned checksum has to pay for having been picked among all that were tried, where it sits and what it covers: some
// 60 rules, 4 places, 16 ranges (decode/learn), and as much again for speed and format.
const pickedBits = 24

func newOtherLink() *otherLink {
	nan := math.NaN()
	return &otherLink{fact: validate.Fact{ID: otherLinkID, Side: capture.Line, Value: nan, Low: nan, High: nan, P: nan, Unit: "bits",
		Unmeasured: "too little talk was seen"}}
}

// keep holds a copy of a block until there is enough; full tells that there is.
func (o *otherLink) keep(b *capture.Block) (full bool) {
	if o.done || len(b.Octets) > 0 { // octets have no edges to learn from
		return false
	}
	if n := len(o.head); n > 0 && len(b.At) == 0 && !b.Gap.Present() {
		o.head[n-1].End = b.End
		return false
	}
	only := *b
	only.Samples = capture.Samples{}
	var c capture.Block
	only.CopyTo(&c)
	o.head = append(o.head, c)
	o.n += len(b.At)
	o.size += c.Bytes() + 128
	return o.n >= headBudget.Transitions || o.size >= headBudget.Bytes
}

// compare settles the fact.
func (o *otherLink) compare(p *link.Profile, c capture.Clock, k learn.Known) error {
	if o.done {
		return nil
	}
	o.done = true
	head := firstOf(o.head, headBudget.Transitions)
	o.head = nil
	if len(head) == 0 {
		return nil
	}
	own, frames, err := proves(head, p, c)
	switch {
	case err != nil:
		return err
	case frames < fewestFrames:
		return nil
	case p.Checksum == nil:
		o.fact.Unmeasured = "the link described has no checksum that would prove it"
		return nil
	}
	o.fact.Unmeasured, o.fact.N, o.fact.P = "", frames, 1
	width := float64(8 * p.Checksum.Sum.Size())
	o.fact.Value = -own // what a link that reads its line is ahead of any other
	if 2*own >= width*float64(frames) {
		return nil
	}
	q, err := learn.Learn(head, c, k)
	if err != nil {
		return nil // nothing can be learned: no other link is better
	}
	other, _, err := proves(head, q, c)
	if err != nil {
		return err
	}
	if other -= pickedBits; q.Checksum == nil || other <= 0 {
		return nil
	}
	if o.fact.Value = other - own; o.fact.Value > 0 {
		o.fact.P = math.Exp2(-o.fact.Value) // A. A. Markov's inequality, as for the other readings
	}
	return nil
}

// firstOf are blocks up to their n-th transition, however they were cut.
func firstOf(head []capture.Block, n int) []capture.Block {
	for i := range head {
		b := &head[i]
		if len(b.At) < n {
			n -= len(b.At)
			continue
		}
		head = head[:i+1]
		b.At, b.To, b.End = b.At[:n], b.To[:n], b.At[n-1]
		if b.Doubt != nil {
			b.Doubt = b.Doubt[:n]
		}
		break
	}
	return head
}

// fewestFrames are too few to doubt a link.
const fewestFrames = 4

// proves is by how many bits the whole frames of a beginning prove a link, and how many frames there are: a checksum of w bits that holds is
// worth w.
func proves(head []capture.Block, p *link.Profile, c capture.Clock) (bits float64, frames int64, err error) {
	l := newLine(p, c, 1, nil)
	defer l.stop()
	for i := range head {
		if err := l.add(&head[i]); err != nil {
			return 0, 0, err
		}
	}
	if err := l.finish(head[len(head)-1].End); err != nil {
		return 0, 0, err
	}
	good := int64(0)
	for i := range l.fold.Senders {
		s := &l.fold.Senders[i]
		good += s.Good
		frames += s.Frames + s.Unframed.N
	}
	if p.Checksum != nil {
		bits = float64(good) * float64(8*p.Checksum.Sum.Size())
	}
	return bits, frames, nil
}
