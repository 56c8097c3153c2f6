package capture_test

import (
	"errors"
	"io"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"linewitness/capture"
)

func TestClockSeconds(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		clock capture.Clock
		tick  capture.Tick
		want  float64
	}{
		{capture.Nanoseconds, 1234567891, 1.234567891},
		{capture.Nanoseconds, -500, -5e-7},
		{capture.Clock{Num: 1, Den: 100}, 3, 300},
		{capture.Clock{Num: 48000 * 1024, Den: 1}, 48000 * 1024 / 2, 0.5},
		{capture.Clock{Num: 1e9, Den: 1}, 1_700_000_000_123_456_789, 1_700_000_000.123456789},
	} {
		if got := c.clock.Seconds(c.tick); got != c.want {
			t.Errorf("%v %d: got %v, want %v", c.clock, c.tick, got, c.want)
		}
	}
}

func TestClockRoundTrip(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		tick := capture.Tick(rapid.Int64Range(-1<<50, 1<<50).Draw(t, "tick"))
		if got := capture.Nanoseconds.Ticks(capture.Nanoseconds.Seconds(tick)); got != tick {
			t.Fatalf("%d came back as %d", tick, got)
		}
	})
}

func TestUnknownValuesPrintThemselves(t *testing.T) {
	t.Parallel()
	for want, got := range map[string]string{
		"level 9": capture.Level(9).String(), "side 99": capture.Side(99).String(), "tap 77": capture.Tap(77).String(),
		"mid": capture.Mid.String(), "b": capture.SideB.String(), "loop-current": capture.LoopCurrent.String(),
	} {
		if got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
	for _, n := range capture.TapNames() {
		if tap, err := capture.ParseTap(n); err != nil || tap.String() != n {
			t.Errorf("%s: got %v, %v", n, tap, err)
		}
	}
	if _, err := capture.ParseTap("unknown"); err == nil {
		t.Error("unknown is no tap to ask for")
	}
}

// blocks is a source of so many blocks of one transition each that ends with an error.
type blocks struct {
	n, at int
	end   error
}

func (s *blocks) Info() capture.Info { return capture.Info{Clock: capture.Nanoseconds, Levels: true} }
func (s *blocks) Close() error       { return nil }
func (s *blocks) Next(b *capture.Block) error {
	if s.at == s.n {
		return s.end
	}
	b.Reset()
	b.Start, b.End = capture.Tick(s.at*10), capture.Tick(s.at*10+10)
	b.At, b.To = append(b.At, b.Start+1), append(b.To, capture.Low)
	s.at++
	return nil
}

func starts(t *testing.T, s capture.Source) (all []capture.Tick, err error) {
	t.Helper()
	var b capture.Block
	for {
		if err := s.Next(&b); err != nil {
			return all, err
		}
		all = append(all, b.Start)
	}
}

// The replayed source gives every block once and ends as the original does, wherever the head stopped.
func TestHeadReplays(t *testing.T) {
	t.Parallel()
	broken := errors.New("cable pulled")
	for _, end := range []error{io.EOF, broken} {
		want, _ := starts(t, &blocks{n: 9, end: end})
		for _, max := range []capture.Budget{{Transitions: 1}, {Transitions: 5}, {Transitions: 100}, {Bytes: 300}, {Span: 40}} {
			head, all, err := capture.Head(&blocks{n: 9, end: end}, max)
			if err != nil {
				t.Fatal(err)
			}
			if len(head) == 0 || max.Transitions == 5 && len(head) != 5 || max.Span == 40 && len(head) != 5 {
				t.Errorf("%+v: head has %d blocks", max, len(head))
			}
			got, err := starts(t, all)
			if !errors.Is(err, end) {
				t.Errorf("%+v: ended with %v, want %v", max, err, end)
			}
			if d := cmp.Diff(want, got); d != "" {
				t.Errorf("%+v (-want +got):\n%s", max, d)
			}
		}
	}
	if _, _, err := capture.Head(&blocks{end: broken}, capture.Budget{}); !errors.Is(err, broken) {
		t.Errorf("got %v, want %v", err, broken)
	}
}

func TestErrorsSayWhereExpectedFound(t *testing.T) {
	t.Parallel()
	cause := errors.New("cause")
	for want, e := range map[string]*capture.FormatError{
		"a.vcd:7: expected 0 or 1, found 2":                     {Name: "a.vcd", Line: 7, Expected: "0 or 1", Found: "2"},
		"a.csv:7:3: at 1.5 s: expected x, found y: cause":       {Name: "a.csv", Line: 7, Column: 3, Time: "1.5 s", Expected: "x", Found: "y", Err: cause},
		"a.wav: byte 44: expected samples, found end of stream": {Name: "a.wav", Offset: 44, Expected: "samples", Found: "end of stream"},
	} {
		if e.Error() != want {
			t.Errorf("got %q, want %q", e.Error(), want)
		}
	}
	if got := capture.Quote(make([]byte, 1<<20)); len(got) > 300 {
		t.Errorf("a megabyte was quoted as %d bytes", len(got))
	}
}
