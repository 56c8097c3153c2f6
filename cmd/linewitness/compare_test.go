package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"linewitness/capture"
	"linewitness/decode/compare"
	"linewitness/decode/link"
	"linewitness/fixtures/stage"
)

// comparedJSON is what tests read of a comparison.
type comparedJSON struct {
	Schema, Kind string
	Alignment    *struct {
		Aligned bool
		Matched int `json:"matched_frames"`
	}
	Conclusion *struct {
		Between string `json:"between_taps"`
		Own     []struct {
			Side  string
			Shown bool
		} `json:"left_their_sender_so"`
		Silent *struct {
			Side  string
			Shown bool
		} `json:"did_not_answer"`
	}
	Changes []struct {
		ID, Side string
		Changed  bool
		First    struct{ Value *float64 }
		Second   struct{ Value *float64 }
	}
}

func comparedBy(t *testing.T, args ...string) (c comparedJSON) {
	t.Helper()
	var out, errs bytes.Buffer
	if got := run(t.Context(), append([]string{"compare", "--json"}, args...), strings.NewReader(""), &out, &errs); got != 0 {
		t.Fatalf("exit status %d: %s", got, &errs)
	}
	if err := json.Unmarshal(out.Bytes(), &c); err != nil {
		t.Fatalf("%v: %.300s", err, &out)
	}
	return c
}

// stagedAt records a shipped scenario at a tap, and how long so.
func stagedAt(t *testing.T, name, tap string, seconds string) string {
	t.Helper()
	dir := t.TempDir()
	var text bytes.Buffer
	s, err := stage.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	s.Tap = tap
	if err := stage.Write(&text, s); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(dir, name+".yaml")
	if err := os.WriteFile(file, text.Bytes(), 0o666); err != nil {
		t.Fatal(err)
	}
	to := filepath.Join(dir, name+"-"+tap+".pcapng")
	var errs bytes.Buffer
	if got := run(t.Context(), []string{"stage", file, "--seconds", seconds, "-o", to}, strings.NewReader(""), io.Discard, &errs); got != 0 {
		t.Fatalf("stage: exit status %d: %s", got, &errs)
	}
	return to
}

// A fault between the taps and one of a board are told apart: shipped scenarios, each recorded at both terminals.
func TestTwoTapsTellFaultsApart(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ name, between, own, silent string }{
		{"sound-loop", "not-seen", "", ""},
		{"wrong-sums", "not-seen", "outdoor", ""},
		{"silent-outdoor", "not-seen", "", "outdoor"},
		{"intermittent-contact", "shown", "", ""},
		{"poor-joint", "one-end", "", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			got := comparedBy(t, stagedAt(t, c.name, "indoor-terminal", "40"), stagedAt(t, c.name, "outdoor-terminal", "40"))
			if got.Kind != "two-taps" || got.Conclusion == nil {
				t.Fatalf("%+v", got)
			}
			x := got.Conclusion
			own, silent := "", ""
			for _, o := range x.Own {
				if o.Shown {
					own += o.Side
				}
			}
			if x.Silent != nil && x.Silent.Shown {
				silent = x.Silent.Side
			}
			if x.Between != c.between || own != c.own || silent != c.silent {
				t.Errorf("%+v, own %q, silent %q", x, own, silent)
			}
		})
	}
}

// Before and after at one terminal: the sum that went wrong is the change that is found, and nothing that a board does not change.
func TestBeforeAndAfter(t *testing.T) {
	t.Parallel()
	got := comparedBy(t, "--before-after", stagedAt(t, "sound-loop", "indoor-terminal", "30"), stagedAt(t, "wrong-sums", "indoor-terminal", "30"))
	if got.Kind != "before-after" || got.Alignment != nil || got.Conclusion != nil {
		t.Fatalf("%+v", got)
	}
	for _, x := range got.Changes {
		switch {
		case x.ID == "damaged" && x.Side == "outdoor":
			if !x.Changed || x.First.Value == nil || *x.First.Value != 0 || *x.Second.Value < 25 {
				t.Errorf("%+v", x)
			}
		case x.ID == "damaged" || x.ID == "unanswered" || x.ID == "dips":
			if x.Changed {
				t.Errorf("%+v", x)
			}
		}
	}
}

// While the second recording is read, an interruption compares what was read of it; while the first is, there is nothing.
func TestCompareInterrupted(t *testing.T) {
	first := filepath.Join(t.TempDir(), "first.vcd")
	if err := os.WriteFile(first, longTalk(300), 0o666); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		files []string
		says  bool
	}{{[]string{first, "-"}, true}, {[]string{"-", first}, false}} {
		ctx, interrupt := context.WithCancel(t.Context())
		in, feed := io.Pipe()
		var out, errs bytes.Buffer
		ended := make(chan int)
		go func() { ended <- run(ctx, append([]string{"compare", "--json"}, c.files...), in, &out, &errs) }()
		if _, err := feed.Write(longTalk(200)); err != nil {
			t.Fatal(err)
		}
		interrupt()
		if got := <-ended; got != 130 {
			t.Errorf("%v: exit status %d, want 130; standard error: %s", c.files, got, &errs)
		}
		if says := strings.HasPrefix(out.String(), `{"schema":"linewitness/comparison/1"`); says != c.says || !c.says && out.Len() > 0 {
			t.Errorf("%v: standard output: %.300s", c.files, &out)
		}
		feed.Close()
	}
}

// An answer that cannot be written is status 1, and a reader that went away is not told of.
func TestCompareFailedOutput(t *testing.T) {
	dir := t.TempDir()
	a, b := filepath.Join(dir, "a.vcd"), filepath.Join(dir, "b.vcd")
	for _, name := range []string{a, b} {
		if err := os.WriteFile(name, longTalk(20), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	for err, said := range map[error]int{syscall.ENOSPC: 1, syscall.EPIPE: 0} {
		var errs bytes.Buffer
		got := run(t.Context(), []string{"compare", a, b}, strings.NewReader(""), brokenWriter{err}, &errs)
		if n := strings.Count(errs.String(), "linewitness: "); got != 1 || n != said {
			t.Errorf("%v: exit status %d, said %q", err, got, &errs)
		}
	}
}

// endless is a source that never ends by itself.
type endless struct{ capture.Source }

func (endless) Next(b *capture.Block) error { b.Reset(); return nil }

// More frames than can be aligned end the reading with what helps; before and after keep none.
func TestTooManyFrames(t *testing.T) {
	r := &reading{}
	k := &keeper{Source: endless{}, r: r, frames: true}
	r.rec.Frames = make([]compare.Frame, mostFrames-1)
	f := &link.Frame{Values: []uint16{1}, Turnaround: -1}
	var b capture.Block
	k.frame(f)
	if err := k.Next(&b); err != nil {
		t.Fatal(err)
	}
	k.frame(f)
	if err := k.Next(&b); !errors.Is(err, errTooMany) || !strings.Contains(err.Error(), "--before-after") {
		t.Errorf("%v", err)
	}
	none := &keeper{Source: endless{}, r: &reading{}}
	none.frame(f)
	if n := len(none.r.rec.Frames); n != 0 || none.r.counts.all != 1 {
		t.Errorf("%d frames kept, %d counted", n, none.r.counts.all)
	}
}

// Lost intervals are kept up to a limit, and beyond it count as one.
func TestKeptGaps(t *testing.T) {
	r := &reading{}
	gap := capture.Tick(0)
	k := &keeper{Source: gaps{&gap}, r: r}
	var b capture.Block
	for range mostGaps + 10 {
		if err := k.Next(&b); err != nil {
			t.Fatal(err)
		}
	}
	g := r.rec.Gaps
	if len(g) != mostGaps || g[0] != (compare.Span{From: 10, To: 11}) || g[mostGaps-1] != (compare.Span{From: 10 * mostGaps, To: gap + 1}) {
		t.Errorf("%d, %v ... %v", len(g), g[0], g[len(g)-1])
	}
}

type gaps struct{ at *capture.Tick }

func (g gaps) Info() capture.Info { return capture.Info{} }
func (g gaps) Close() error       { return nil }
func (g gaps) Next(b *capture.Block) error {
	*g.at += 10
	b.Reset()
	b.Gap = capture.Gap{From: *g.at, To: *g.at + 1, Why: capture.GapDamaged}
	return nil
}

// Turn-arounds stay spread over the whole recording, however long.
func TestThinned(t *testing.T) {
	t.Parallel()
	for _, n := range []int{10, mostThinned, 3 * mostThinned, 50 * mostThinned} {
		var th thinned
		for i := range n {
			th.add(float64(i))
		}
		if len(th.v) > mostThinned || n >= mostThinned && len(th.v) < mostThinned/2 || th.v[0] != 0 || th.v[len(th.v)-1] < 0.99*float64(n)-1 {
			t.Fatalf("%d: %d kept, %g to %g", n, len(th.v), th.v[0], th.v[len(th.v)-1])
		}
		for i := 1; i < len(th.v); i++ {
			if d := th.v[i] - th.v[i-1]; d != th.v[1]-th.v[0] {
				t.Fatalf("%d: step %g at %d, %g at first", n, d, i, th.v[1]-th.v[0])
			}
		}
	}
}
