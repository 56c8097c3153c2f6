package pcapng

import (
	"errors"
	"fmt"
	"io"

	"linewitness/capture"
	"linewitness/capture/internal/record"
)

// Next refills b with the next whole block.
func (r *Reader) Next(b *capture.Block) error {
	for r.err == nil {
		h, body, err := r.record()
		switch {
		case err != nil:
			r.err = r.ended(err)
			if r.err == nil && r.last(b) {
				r.err = io.EOF
				return nil
			}
			if r.err == nil {
				r.err = io.EOF
			}
		case r.closing != nil:
			r.err = r.blame(r.guard.at, "the end of the file after the end record", "another record")
		case r.sequel(&h) && r.join(&h, body) && r.give(b):
			return nil
		}
	}
	return r.err
}

// ended is what the end of the file means: nil after an end record.
func (r *Reader) ended(err error) error {
	if !errors.Is(err, io.EOF) {
		return fmt.Errorf("%s: byte %d: %w", r.info.Name, r.guard.win.off+int64(len(r.guard.win.buf)), err)
	}
	if r.closing == nil {
		return r.torn()
	}
	return nil
}

// last makes b the lost time before the end record, if there is any.
func (r *Reader) last(b *capture.Block) bool {
	if !r.harmed || r.seeking && r.closeAt <= r.from || r.closeAt <= r.end && r.given || r.closeAt <= 0 && !r.given {
		return false
	}
	b.Reset()
	b.Start, b.End = r.closeAt, r.closeAt
	r.gap(b)
	r.settle(b.Start)
	r.end, r.given = b.End, true
	return true
}

// sequel tells whether a record is the next one or a later one; then all between are lost.
func (r *Reader) sequel(h *record.Header) bool {
	switch {
	case !r.joined || h.Seq == r.seq:
	case h.Seq < r.seq:
		r.strange(Span{Offset: r.guard.at, Length: int64(packetHead + record.HeaderSize + h.Length + 4)})
		return false
	default:
		r.lose()
		if r.first == len(r.spans) { // no damage was seen: they were cut out
			r.strange(Span{Offset: r.guard.at})
		}
	}
	r.seq, r.joined = h.Seq+1, true
	return true
}

// lose forgets a block that is not complete, and remembers that something is missing.
func (r *Reader) lose() { r.open, r.harmed = false, true }

// join takes a record, and tells whether it makes the block in asm whole.
func (r *Reader) join(h *record.Header, body []byte) bool {
	if part := h.Flags&record.FlagPart != 0; r.open != part {
		switch {
		case part: // of a block whose beginning is lost
			return false
		case h.Kind == record.Levels || h.Kind == record.Volts || h.Kind == record.Octets:
			r.lose() // the rest of the block before never came
		}
	}
	switch h.Kind {
	case record.Levels, record.Volts, record.Octets:
		if err := record.DecodeInto(h, body, &r.asm); err != nil {
			r.lose()
			r.strange(Span{Offset: r.guard.at, Length: int64(packetHead + record.HeaderSize + len(body) + 4)})
			return false
		}
		r.open = h.Flags&record.FlagMore != 0
		return !r.open
	case record.Note:
		if s, err := record.DecodeNote(body); err == nil && len(r.notes) < mostNotes {
			r.notes = append(r.notes, Note{h.Start, s})
		}
	case record.End:
		if e, err := record.DecodeEnd(body); err == nil {
			r.closing, r.closeAt = &e, h.Start
		}
	}
	return false
}

// give makes b the block in asm, if it follows the one given before.
func (r *Reader) give(b *capture.Block) bool {
	if r.seeking && r.asm.End <= r.from {
		r.end, r.level, r.given, r.harmed = r.asm.End, r.asm.Last(), true, false
		return false
	}
	if !r.follows() {
		r.lose()
		r.strange(Span{Offset: r.guard.at})
		return false
	}
	r.seeking = false
	*b, r.asm = r.asm, *b
	if r.harmed && !(r.given && b.Gap.Present() && b.Gap.From == r.end) { // only a note was lost there
		r.gap(b)
	}
	r.settle(b.Start)
	r.end, r.level, r.given, r.harmed = b.End, b.Last(), true, false
	return true
}

// follows tells whether the block in asm can be given after the one before: whatever is missing must have taken time.
func (r *Reader) follows() bool {
	a := &r.asm
	switch {
	case !r.given:
		return true
	case a.Start < r.end:
		return false
	case a.Start == r.end:
		return !a.Gap.Present() && a.First == r.level
	case a.Gap.Present() && a.Gap.From == r.end:
		return true
	}
	r.harmed = true // time is missing, whatever the sequence says
	return true
}

// gap puts what is lost before b into its gap.
func (r *Reader) gap(b *capture.Block) {
	from := r.end // nothing given yet: the axis begins at 0
	if b.Start > from {
		b.Gap = capture.Gap{From: from, To: b.Start, Count: -1, Why: capture.GapDamaged}
	}
}

// strange remembers a damaged stretch.
func (r *Reader) strange(s Span) {
	if len(r.spans) < mostSpans {
		s.From, s.To = r.end, r.end
		r.spans = append(r.spans, s)
	}
}

// settle tells the damage before an instant where good blocks go on.
func (r *Reader) settle(to capture.Tick) {
	for ; r.first < len(r.spans); r.first++ {
		r.spans[r.first].To = max(to, r.spans[r.first].From)
	}
}
