package pcapng_test

import (
	"math"
	"strings"
	"testing"

	"linewitness/capture"
	"linewitness/capture/pcapng"
)

// sizes notes how large writes are.
type sizes struct{ largest, all int }

func (s *sizes) Write(p []byte) (int, error) {
	s.largest, s.all = max(s.largest, len(p)), s.all+len(p)
	return len(p), nil
}

// Notes without blocks between them do not gather in memory.
func TestNotesAreWritten(t *testing.T) {
	t.Parallel()
	var out sizes
	w, err := pcapng.WriteTo(&out, madeInfo)
	check(t, err)
	text := strings.Repeat("the fan starts; ", 1000)
	for i := range 100 {
		check(t, w.Note(capture.Tick(i), text))
	}
	if want := 99 * len(text); out.all < want-256<<10 || out.largest > 256<<10 {
		t.Errorf("%d bytes written of %d, at most %d at once", out.all, want, out.largest)
	}
	check(t, w.Close())
}

// Sync with nothing to write writes nothing.
func TestSyncWritesNothingTwice(t *testing.T) {
	t.Parallel()
	m := newMemFS()
	w, err := pcapng.NewWriter(m, "heron.pcapng", madeInfo, pcapng.WriteOptions{})
	check(t, err)
	writes := 0
	m.fail = func(_ int, what string) error {
		if what == "write" {
			writes++
		}
		return nil
	}
	check(t, w.Sync())
	check(t, w.Sync())
	if writes != 0 {
		t.Errorf("%d writes of nothing", writes)
	}
	check(t, w.Close())
}

// A block longer than a Tick can tell is refused, and the log goes on.
func TestLongestBlock(t *testing.T) {
	t.Parallel()
	w, err := pcapng.WriteTo(&sizes{}, madeInfo)
	check(t, err)
	for _, b := range []capture.Block{
		{Start: math.MinInt64, End: math.MaxInt64, First: capture.High},
		{Start: math.MaxInt64 - 1, End: math.MaxInt64, First: capture.High, Gap: capture.Gap{From: math.MinInt64, To: math.MaxInt64 - 1, Why: capture.GapPaused}},
	} {
		if err := w.Write(&b); err == nil {
			t.Errorf("block from %d to %d, gap from %d: no error", b.Start, b.End, b.Gap.From)
		}
	}
	check(t, w.Write(&capture.Block{Start: 0, End: 10, First: capture.High}))
	check(t, w.Close())
}
