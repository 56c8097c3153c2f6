package main

import (
	"context"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"linewitness/capture"
	"linewitness/decode"
	"linewitness/decode/cause"
	"linewitness/decode/check"
	"linewitness/decode/verdict"
	"linewitness/fixtures/stage"
)

// trial is one staged line and what the examination said of it.
type trial struct {
	seed       uint64
	truth      *stage.Truth
	basis      verdict.Input
	verdict    verdict.Verdict
	candidates []verdict.Candidate
	shown      verdict.Shown
	evidence   []verdict.Evidence
	also       []verdict.Candidate
	about      *check.Case
}

// taps are those at which lines are tried: mostly their world's own.
var taps = []string{"", "", "", "", "indoor-terminal", "outdoor-terminal", "loop-current", "board-pin"}

// scenario draws the line of a seed.
func (o *options) scenario(seed uint64) (*stage.Scenario, error) {
	d := o.draw
	if o.mixed && d.Tap == "" && d.World == "" {
		d.Tap = taps[seed%uint64(len(taps))]
	}
	if o.mixed && d.Cause == "" && seed%5 == 0 {
		d.Cause = "none"
	}
	return stage.Draw(seed, d)
}

// try stages a line and examines its recording as it comes.
func (o *options) try(ctx context.Context, seed uint64) (*trial, error) {
	s, err := o.scenario(seed)
	if err != nil {
		return nil, fmt.Errorf("seed %d: %w", seed, err)
	}
	p, err := s.Spoken(nil)
	if err != nil {
		return nil, fmt.Errorf("seed %d: %w", seed, err)
	}
	if o.bare || o.mixed && seed%3 == 0 {
		p = nil
	}
	var e *decode.Examiner
	defer func() {
		if e != nil {
			e.Close()
		}
	}()
	truth, err := stage.Stage(ctx, s, func(b *capture.Block) error { return e.Add(b) }, stage.Options{Begin: func(i capture.Info) error {
		e = decode.New(i, p, decode.Options{Workers: 1})
		return nil
	}})
	if err == nil {
		err = e.Flush()
	}
	if err != nil {
		return nil, fmt.Errorf("seed %d: %w", seed, err)
	}
	return newTrial(seed, truth, *e.Finding().Basis), nil
}

// newTrial judges what a recording showed.
func newTrial(seed uint64, truth *stage.Truth, basis verdict.Input) *trial {
	j := verdict.Judge(basis)
	return &trial{seed, truth, basis, j.Verdict, j.Candidates, verdict.Read(basis), j.Evidence, j.Also, j.About}
}

// outcome of a verdict.
type outcome uint8

const (
	wrong   outcome = iota
	open            // undetermined
	allowed         // not staged, but nobody could exclude it at that tap
	right           // the staged cause at its side
)

func (o outcome) String() string { return [...]string{"wrong", "open", "allowed", "right"}[o] }

// outcome compares the verdict with the truth.
func (t *trial) outcome() outcome {
	if t.verdict.Undetermined {
		return open
	}
	return t.match(t.verdict.Key)
}

// match is right for what was staged, allowed for what can't be excluded.
func (t *trial) match(k verdict.Key) outcome {
	staged := max(1, len(t.truth.Causes)) // of a sound line, none
	for i, a := range t.truth.Accept {
		if a.Cause == k.Cause.String() && t.sits(a.Side, k.Side) {
			if i < staged {
				return right
			}
			return allowed
		}
	}
	return wrong
}

// sits tells whether a candidate's side is the truth's, which knows where talkers a and b are.
func (t *trial) sits(truth string, side capture.Side) bool {
	switch side {
	case capture.SideA:
		return truth == t.truth.A
	case capture.SideB:
		return truth == t.truth.B
	}
	return truth == side.String()
}

// sound tells whether nothing was staged.
func (t *trial) sound() bool { return len(t.truth.Causes) == 0 }

// family tells whether a family is among those that can't be excluded.
func (t *trial) family(f cause.Family) bool {
	for _, a := range t.truth.Accept {
		if c, err := cause.Parse(a.Cause); err == nil && c.Family() == f {
			return true
		}
	}
	return false
}

// share is the probability that the candidates give to what can't be excluded, and to what was staged.
func (t *trial) share() (accepted, staged float64) {
	for _, c := range t.candidates {
		switch t.match(c.Key) {
		case right:
			staged += c.Probability
			accepted += c.Probability
		case allowed:
			accepted += c.Probability
		}
	}
	return accepted, staged
}

// severity is gross, medium or slight; faults without a size are gross.
func (t *trial) severity() string {
	if t.sound() {
		return "sound"
	}
	s := t.truth.Causes[0].Severity
	switch {
	case s == nil || *s >= 2.0/3:
		return "gross"
	case *s >= 1.0/3:
		return "medium"
	}
	return "slight"
}

// name is the first staged cause.
func (t *trial) name() string {
	if t.sound() {
		return cause.None.String()
	}
	return t.truth.Causes[0].Cause
}

func (t *trial) String() string {
	var staged []string
	for _, c := range t.truth.Causes {
		staged = append(staged, c.Cause+"/"+c.Side)
	}
	if staged == nil {
		staged = []string{"none"}
	}
	lead := t.candidates[0]
	accepted, _ := t.share()
	return fmt.Sprintf("%d %s %s %s lost=%d moved=%t: %s, leads %s %.3f, to what can't be excluded %.3f", t.seed, t.truth.World, strings.Join(staged, "+"), t.severity(),
		t.truth.Trace.FramesLost, !t.truth.Trace.None(), t.outcome(), lead.Key, lead.Probability, accepted)
}

// tell prints what the answer stands on, with what moves candidates by half a bit and more.
func (t *trial) tell(w io.Writer) {
	for _, e := range t.evidence {
		var most []string
		for k, b := range e.Bits {
			if math.Abs(b) >= 0.5 {
				most = append(most, fmt.Sprintf("%s %+.1f", k, b))
			}
		}
		slices.Sort(most)
		fmt.Fprintf(w, "    %s: %s\n        %s\n", e.ID, e.Says, strings.Join(most, ", "))
	}
}
