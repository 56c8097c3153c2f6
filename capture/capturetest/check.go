// Package capturetest has what the tests of every source of blocks need: the rules that blocks keep, and a drain.
package capturetest

import (
	"errors"
	"fmt"
	"io"
	"math"

	"linewitness/capture"
)

// Check tells which rule b breaks, after prev (nil: b is the first block of the recording).
func Check(prev, b *capture.Block) error {
	if b.End < b.Start {
		return fmt.Errorf("block ends at %d before its start %d", b.End, b.Start)
	}
	if len(b.At) != len(b.To) || len(b.SampleAt) != len(b.Volts) || len(b.Doubt) != 0 && len(b.Doubt) != len(b.At) {
		return fmt.Errorf("parallel slices differ: %d, %d and %d, %d and %d", len(b.At), len(b.To), len(b.Doubt), len(b.SampleAt), len(b.Volts))
	}
	for _, rule := range []func(prev, b *capture.Block) error{checkGap, checkTransitions, checkSamples} {
		if err := rule(prev, b); err != nil {
			return err
		}
	}
	return nil
}

// checkGap: no hole between blocks but one that is said.
func checkGap(prev, b *capture.Block) error {
	g := b.Gap
	if g.Present() {
		if g.To <= g.From || g.To != b.Start {
			return fmt.Errorf("gap from %d to %d before a block from %d", g.From, g.To, b.Start)
		}
		if prev != nil && g.From != prev.End {
			return fmt.Errorf("gap from %d after a block to %d", g.From, prev.End)
		}
		return nil
	}
	if g != (capture.Gap{}) {
		return fmt.Errorf("gap without a reason: %+v", g)
	}
	if prev == nil {
		return nil
	}
	if b.Start != prev.End {
		return fmt.Errorf("hole from %d to %d", prev.End, b.Start)
	}
	if b.First != prev.Last() {
		return fmt.Errorf("level %v at %d without a transition from %v", b.First, b.Start, prev.Last())
	}
	return nil
}

func checkTransitions(_, b *capture.Block) error {
	level := b.First
	for i, at := range b.At {
		switch {
		case at < b.Start || at > b.End:
			return fmt.Errorf("transition %d at %d outside of [%d, %d]", i, at, b.Start, b.End)
		case i > 0 && at <= b.At[i-1]:
			return fmt.Errorf("transition %d at %d after one at %d", i, at, b.At[i-1])
		case b.To[i] == level || b.To[i] == capture.Unknown || b.To[i] > capture.High:
			return fmt.Errorf("transition %d at %d from %v to %v", i, at, level, b.To[i])
		}
		level = b.To[i]
	}
	return nil
}

func checkSamples(_, b *capture.Block) error {
	for i, at := range b.SampleAt {
		switch {
		case at < b.Start || at > b.End:
			return fmt.Errorf("sample %d at %d outside of [%d, %d]", i, at, b.Start, b.End)
		case i > 0 && at <= b.SampleAt[i-1]:
			return fmt.Errorf("sample %d at %d after one at %d", i, at, b.SampleAt[i-1])
		case math.IsNaN(b.Volts[i]) || math.IsInf(b.Volts[i], 0):
			return fmt.Errorf("sample %d at %d is %v", i, at, b.Volts[i])
		}
	}
	return nil
}

// Content is a recording put together again: equal for every size of block.
type Content struct {
	Start, End capture.Tick
	First      capture.Level
	Gaps       []capture.Gap
	After      []capture.Level // the level at the end of each gap
	capture.Transitions
	capture.Samples
	Blocks int
}

// Collect reads s to its end and checks every block on the way. The content up to an error comes with it; the end of
// the recording is no error.
func Collect(s capture.Source) (*Content, error) {
	c := new(Content)
	var prev, b capture.Block
	for {
		err := s.Next(&b)
		if err != nil {
			if again := s.Next(&b); again != err {
				return c, fmt.Errorf("error %v was not kept: %v", err, again)
			}
			if errors.Is(err, io.EOF) {
				return c, nil
			}
			return c, err
		}
		if err := c.add(&prev, &b); err != nil {
			return c, err
		}
	}
}

// BrokenRule is an error of the source, not of its input.
type BrokenRule struct{ Err error }

func (e *BrokenRule) Error() string { return "broken rule: " + e.Err.Error() }
func (e *BrokenRule) Unwrap() error { return e.Err }

func (c *Content) add(prev, b *capture.Block) error {
	last := prev
	if c.Blocks == 0 {
		last = nil
		c.Start, c.First = b.Start, b.First
		if b.Gap.Present() {
			c.Start = b.Gap.From
		}
	}
	if err := Check(last, b); err != nil {
		return &BrokenRule{fmt.Errorf("block %d: %w", c.Blocks, err)}
	}
	c.Blocks++
	c.End = b.End
	if b.Gap.Present() {
		c.Gaps, c.After = append(c.Gaps, b.Gap), append(c.After, b.First)
	}
	c.At, c.To = append(c.At, b.At...), append(c.To, b.To...)
	c.SampleAt, c.Volts = append(c.SampleAt, b.SampleAt...), append(c.Volts, b.Volts...)
	b.CopyTo(prev)
	return nil
}

// Drain is Collect for those who want levels only.
func Drain(s capture.Source) (capture.Transitions, []capture.Gap, error) {
	c, err := Collect(s)
	return c.Transitions, c.Gaps, err
}

// String shows content in one line, as the tests' tables write it.
func (c *Content) String() string {
	s := fmt.Sprintf("%d..%d", c.Start, c.End)
	if c.Blocks > 0 {
		s += " " + c.First.String()
	}
	for i, at := range c.At {
		s += fmt.Sprintf(" %d:%v", at, c.To[i])
	}
	for i, at := range c.SampleAt {
		s += fmt.Sprintf(" %d:%gV", at, c.Volts[i])
	}
	for i, g := range c.Gaps {
		s += fmt.Sprintf(" lost(%d..%d why %d %v)", g.From, g.To, g.Why, c.After[i])
	}
	return s
}
