package decode_test

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync"
	"testing"

	"golang.org/x/sync/errgroup"

	"linewitness/capture"
	"linewitness/decode"
	"linewitness/decode/link"
	"linewitness/decode/statistic"
)

// soundLines is how many sound lines show how often facts cry wolf.
const soundLines = 1000

// pOf gathers the probabilities of each fact of some lines, by its id.
func pOf(t *testing.T, lines int, line func(i int) capture.Source) map[string][]float64 {
	t.Helper()
	profile := find(t, (&talk{seed: 1, polls: 60}).wire().Source(4096), decode.Options{Tap: capture.Pair}).Link
	var mu sync.Mutex
	all := map[string][]float64{}
	g, ctx := errgroup.WithContext(t.Context())
	g.SetLimit(runtime.GOMAXPROCS(0))
	for i := range lines {
		g.Go(func() error { return gather(ctx, line(i), profile, &mu, all) })
	}
	if err := g.Wait(); err != nil {
		t.Fatal(err)
	}
	return all
}

// gather adds those of one line.
func gather(ctx context.Context, line capture.Source, p *link.Profile, mu *sync.Mutex, all map[string][]float64) error {
	f, err := decode.Run(ctx, line, p, decode.Options{Tap: capture.Pair, Workers: 1})
	if err != nil {
		return err
	}
	if len(f.Facts) == 0 {
		return errors.New("a line without facts")
	}
	mu.Lock()
	defer mu.Unlock()
	for i := range f.Facts {
		if x := &f.Facts[i]; x.P == x.P {
			all[x.ID] = append(all[x.ID], x.P)
		}
	}
	return nil
}

// struck is a sound dialogue that chance strikes: pulses of about a bit at instants that know nothing of sender, frame or place.
// Without any damage, facts about damage have no probability.
func struck(seed uint64) capture.Source {
	k := &talk{seed: seed, polls: 20 + int(seed%20)}
	w := k.wire()
	r := rand.New(rand.NewPCG(seed, 2))
	for range 12 {
		w.Disturb(w.Now*r.Float64(), 1, func() float64 { return (0.6 + 0.8*r.Float64()) / k.line.Speed })
	}
	return w.Source(4096)
}

// Of 1,000 lines that chance strikes no fact calls more than 5 % unlike a sound one at 0.05, nor more than 1 % at 0.01: exact
// binomial test of each at 1e-3 over the number of tests, so that all of them together fail by chance less than once in a thousand
// draws. The facts of both senders count under one id.
func TestFactsDoNotCryWolf(t *testing.T) {
	t.Parallel()
	all := pOf(t, soundLines, func(i int) capture.Source { return struck(uint64(i)) })
	for _, id := range []string{"errors.clustering", "errors.position", "errors.one-sender", "errors.marks-to-space", "mains.losses-scan"} {
		if len(all[id]) < soundLines/4 {
			t.Errorf("%s has a probability on %d lines only", id, len(all[id]))
		}
	}
	for id, p := range all {
		for _, alpha := range []float64{0.05, 0.01} {
			hits := below(p, alpha)
			chance := statistic.BinomialTest(hits, len(p), alpha, statistic.Greater)
			t.Logf("%s: %d of %d are at most %g", id, hits, len(p), alpha)
			if chance < 1e-3/float64(2*len(all)) {
				t.Errorf("%s: %d of %d are at most %g, which chance gives with %.2g", id, hits, len(p), alpha, chance)
			}
		}
	}
}

func below(p []float64, alpha float64) (n int) {
	for _, x := range p {
		if x <= alpha {
			n++
		}
	}
	return n
}

// The other way round: where replies alone are damaged, the fact that compares both senders says so.
func TestFactsHearAFault(t *testing.T) {
	t.Parallel()
	p := pOf(t, 20, func(i int) capture.Source {
		return (&talk{seed: uint64(i), polls: 60, wrongSum: 0.5}).wire().Source(4096)
	})["errors.one-sender"]
	if len(p) != 20 || below(p, 0.01) < 19 {
		t.Errorf("of 20 lines with half of the replies damaged %d have p, %d at most 0.01", len(p), below(p, 0.01))
	}
}

// Facts come in the same order, with the same ids and sides, however long or damaged the line is.
func TestFactsKeepTheirOrder(t *testing.T) {
	t.Parallel()
	list := func(k *talk) (ids []string) {
		for _, x := range find(t, k.wire().Source(4096), decode.Options{Tap: capture.Pair}).Facts {
			ids = append(ids, x.ID+" "+x.Side.String())
		}
		return ids
	}
	a, b := list(&talk{seed: 1, polls: 30}), list(&talk{seed: 2, polls: 90, wrongSum: 0.3, silent: 0.1})
	if fmt.Sprint(a) != fmt.Sprint(b) {
		t.Errorf("got\n%v\nand\n%v", a, b)
	}
	for _, id := range []string{"time.clock a", "time.clock b", "joined.losses-at-dips a", "joined.losses-at-dips b"} {
		if !slices.Contains(a, id) {
			t.Errorf("%s is not among %v", id, a)
		}
	}
}
