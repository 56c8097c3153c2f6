package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"linewitness/cmd/linewitness/internal/output"
	"linewitness/decode"
	"linewitness/decode/check"
)

// dialogue asks for readings by hand, the one worth most first, until enough is known or nobody answers any more.
type dialogue struct {
	in       *bufio.Reader
	out      io.Writer // questions
	finding  *decode.Finding
	readings []check.Reading
}

// When asking ends by itself: what to do has this probability, or no check is worth this many bits.
const (
	enough   = 0.95
	worthIt  = 0.03
	askIntro = "One question at a time, the one worth most first. Answer in the words or figures\n" +
		"shown; \"unknown\" if it cannot be done; ? for why it is asked; an empty line ends.\n"
)

// errEnough ends the questions.
var errEnough = errors.New("enough")

// ask holds the dialogue and leaves the finding and all readings in d.
func (d *dialogue) ask(ctx context.Context) error {
	if _, err := io.WriteString(d.out, askIntro); err != nil {
		return &outputError{err}
	}
	for {
		q := d.next()
		if q == nil {
			return nil
		}
		switch err := d.one(ctx, q); {
		case errors.Is(err, errEnough), errors.Is(err, io.EOF):
			return nil
		case err != nil:
			return err
		}
		d.finding = d.finding.With(d.readings)
	}
}

// question is a check that is asked for, and why.
type question struct {
	check.Check
	why string
}

// next is the question worth most; nil: there is none.
func (d *dialogue) next() *question {
	if !d.answered(check.History) {
		c, _ := check.Find(check.History)
		return &question{c, "new work, storms and age make different faults likely"}
	}
	if c, ok := d.silence(); ok {
		return c
	}
	if len(d.finding.Actions) > 0 && d.finding.Actions[0].Probability >= enough {
		return nil
	}
	for _, r := range d.finding.NextChecks {
		c, ok := check.Find(r.ID)
		if !ok || c.Values == "" || c.ID == check.Demand || d.answered(r.ID) || r.Gain < worthIt {
			continue
		}
		return &question{c, fmt.Sprintf("expected to tell %.2f bits about what to do; it tells apart %s", r.Gain, strings.Join(r.Separates, ", "))}
	}
	return nil
}

// silence asks whether a silent line should have talked.
func (d *dialogue) silence() (*question, bool) {
	if d.finding.Basis.Bare || d.answered(check.Demand) {
		return nil, false
	}
	for _, s := range d.finding.Senders {
		if s.Frames > 0 {
			return nil, false
		}
	}
	c, ok := check.Find(check.Demand)
	c.Do = "Did a call for cooling or heating stand while this was recorded?"
	c.Caution = ""
	return &question{c, "units sleep: a silent line is at fault only where it should have talked"}, ok
}

func (d *dialogue) answered(id string) bool {
	for _, r := range d.readings {
		if r.Check == id {
			return true
		}
	}
	return false
}

// one asks until the answer can be read.
func (d *dialogue) one(ctx context.Context, q *question) error {
	if err := output.WriteQuestion(d.out, len(d.readings)+1, &q.Check); err != nil {
		return &outputError{err}
	}
	for {
		text, err := d.line(ctx)
		switch {
		case err != nil && text == "":
			return err
		case text == "":
			return errEnough
		case text == "?":
			err = output.WriteWhy(d.out, q.why)
		default:
			r, bad := q.Answer(text)
			if bad == nil {
				d.readings = append(d.readings, r)
				return nil
			}
			err = output.WriteWhy(d.out, bad.Error())
		}
		if err != nil {
			return &outputError{err}
		}
	}
}

// line reads one answer. An interruption ends the questions, not the answer.
func (d *dialogue) line(ctx context.Context) (string, error) {
	if _, err := io.WriteString(d.out, "> "); err != nil {
		return "", &outputError{err}
	}
	text, err := d.in.ReadString('\n')
	if ctx.Err() != nil {
		return "", errEnough
	}
	return strings.TrimSpace(text), err
}

// asking makes the dialogue of an examination; standard input is read such that an interruption ends it.
func (x *examination) asking(ctx context.Context, f *decode.Finding) (*dialogue, func()) {
	in := newInterruptible(ctx, func() (io.ReadCloser, error) { return io.NopCloser(x.in), nil })
	return &dialogue{in: bufio.NewReader(in), out: x.err, finding: f, readings: x.readings}, in.stop
}

// asked adds what is answered to a finding, where asking was wished.
func (x *examination) asked(ctx context.Context, f *decode.Finding) (*decode.Finding, error) {
	if !x.ask {
		return f, nil
	}
	d, stop := x.asking(ctx, f)
	defer stop()
	err := d.ask(ctx)
	x.readings = d.readings
	return d.finding, err
}

// unrecorded answers without a recording.
func (x *examination) unrecorded(ctx context.Context) {
	f, err := x.asked(ctx, decode.Unrecorded(x.tap, x.readings))
	if err == nil {
		x.read++
		x.judged(f)
		err = x.answer(f)
	}
	if err == nil && x.report != "" {
		err = writeReport(x.report, f)
	}
	if err != nil {
		x.fail(err)
	}
}
