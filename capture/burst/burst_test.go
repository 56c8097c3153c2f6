package burst_test

import (
	"math/rand/v2"
	"testing"

	"github.com/google/go-cmp/cmp"

	"linewitness/capture"
	"linewitness/capture/burst"
)

// run cuts blocks and copies every batch.
func run(t *testing.T, gap capture.Tick, blocks []capture.Block) (all []burst.Batch, torn int64) {
	t.Helper()
	var cur *burst.Batch
	c := burst.New(gap, func() *burst.Batch { cur = new(burst.Batch); return cur }, func(b *burst.Batch) error {
		all = append(all, *b)
		return nil
	})
	for i := range blocks {
		if err := c.Add(&blocks[i]); err != nil {
			t.Fatal(err)
		}
	}
	if err := c.Flush(); err != nil {
		t.Fatal(err)
	}
	return all, c.Torn()
}

func levels(n int) (to []capture.Level) {
	for i := range n {
		to = append(to, [...]capture.Level{capture.Low, capture.High}[i%2])
	}
	return to
}

func TestBurstsAreCutAtSilencesAndGaps(t *testing.T) {
	t.Parallel()
	at := []capture.Tick{100, 110, 120, 500, 510}
	blocks := []capture.Block{
		{Start: 0, End: 600, First: capture.High, Transitions: capture.Transitions{At: at, To: levels(5)}},
		{Start: 700, End: 900, First: capture.High, Gap: capture.Gap{From: 600, To: 700, Count: -1, Why: capture.GapUnknown},
			Transitions: capture.Transitions{At: []capture.Tick{710}, To: levels(1)}},
	}
	got, _ := run(t, 50, blocks)
	want := []burst.Span{
		{From: 0, To: 3, Before: 0, Until: 500, Begins: true},
		{From: 3, To: 5, Before: 120, Until: 600, Ends: true},
		{From: 5, To: 6, Before: 700, Until: 900, Begins: true, Ends: true},
	}
	if len(got) != 1 {
		t.Fatalf("got %d batches, want 1", len(got))
	}
	if d := cmp.Diff(want, got[0].Bursts); d != "" {
		t.Errorf("bursts (-want +got):\n%s", d)
	}
}

// However the recording is cut into blocks, the bursts are the same, batches hold whole bursts, and nothing is lost.
func TestBlockSizeDoesNotMatter(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(3, 4))
	var at []capture.Tick
	now := capture.Tick(0)
	for range 30000 {
		now += capture.Tick(1 + r.IntN(20))
		if r.IntN(40) == 0 {
			now += 500
		}
		at = append(at, now)
	}
	to := levels(len(at))
	var want []burst.Batch
	for _, size := range []int{1, 7, 4096, len(at)} {
		var blocks []capture.Block
		start, first := capture.Tick(0), capture.High
		for i := 0; i < len(at); i += size {
			n := min(size, len(at)-i)
			b := capture.Block{Start: start, End: at[i+n-1], First: first,
				Transitions: capture.Transitions{At: at[i : i+n], To: to[i : i+n]}}
			start, first = b.End, to[i+n-1]
			blocks = append(blocks, b)
		}
		got, _ := run(t, 100, blocks)
		total := 0
		for i, b := range got {
			total += len(b.At)
			if i < len(got)-1 && len(b.At) < burst.Target {
				t.Errorf("size %d: batch %d has %d transitions, fewer than %d", size, i, len(b.At), burst.Target)
			}
		}
		if total != len(at) {
			t.Errorf("size %d: %d transitions came out, %d went in", size, total, len(at))
		}
		if want == nil {
			want = got
		} else if d := cmp.Diff(want, got); d != "" {
			t.Errorf("size %d differs from size 1 (-want +got):\n%.2000s", size, d)
		}
	}
}

func TestRestlessLineIsTorn(t *testing.T) {
	t.Parallel()
	n := 3*burst.Most + 10
	b := capture.Block{End: capture.Tick(n + 1), First: capture.High}
	for i := range n {
		b.At = append(b.At, capture.Tick(i+1))
	}
	b.To = levels(n)
	got, torn := run(t, 100, []capture.Block{b})
	if torn != 3 {
		t.Errorf("got %d torn bursts, want 3", torn)
	}
	total := 0
	for _, x := range got {
		total += len(x.At)
	}
	if total != n {
		t.Errorf("%d transitions came out, %d went in", total, n)
	}
}
