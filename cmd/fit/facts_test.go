package main

import (
	"context"
	"fmt"
	"runtime"
	"slices"
	"sync"
	"testing"

	"golang.org/x/sync/errgroup"

	"linewitness/capture"
	"linewitness/decode"
	"linewitness/decode/statistic"
	"linewitness/decode/validate"
	"linewitness/fixtures/stage"
)

const (
	soundLines   = 1000
	soundShort   = 60 // in short mode, and with the race detector, which takes ten times as long
	soundSeconds = 10
)

// sound stages a short sound line of a seed and lists its facts. Hum, glitches and sleep are there as they are drawn; loads that start and
// stop are not: where the neutral drops by their current a line loses frames in runs, and the facts say so rightly.
func sound(ctx context.Context, seed uint64) ([]validate.Fact, error) {
	s, err := stage.Draw(seed, stage.DrawOptions{Cause: "none", Tap: taps[seed%uint64(len(taps))]})
	if err != nil {
		return nil, err
	}
	s.Shorten(min(s.Seconds, soundSeconds))
	if s.Nuisance != nil {
		s.Nuisance.Load, s.Nuisance.Dip = 0, 0
	}
	p, err := s.Spoken(nil)
	if err != nil {
		return nil, err
	}
	var e *decode.Examiner
	defer func() {
		if e != nil {
			e.Close()
		}
	}()
	_, err = stage.Stage(ctx, s, func(b *capture.Block) error { return e.Add(b) }, stage.Options{Begin: func(i capture.Info) error {
		e = decode.New(i, p, decode.Options{Workers: 1})
		return nil
	}})
	if err == nil {
		err = e.Flush()
	}
	if err != nil {
		return nil, err
	}
	return e.Finding().Facts, nil
}

// soundP gathers the probabilities of each fact of so many sound lines, by its id.
func soundP(t *testing.T, lines int) map[string][]float64 {
	t.Helper()
	var mu sync.Mutex
	all := map[string][]float64{}
	g, ctx := errgroup.WithContext(t.Context())
	g.SetLimit(runtime.GOMAXPROCS(0))
	for i := range lines {
		g.Go(func() error {
			facts, err := sound(ctx, uint64(i)+1)
			if err != nil {
				return fmt.Errorf("seed %d: %w", i+1, err)
			}
			mu.Lock()
			defer mu.Unlock()
			for k := range facts {
				if x := &facts[k]; x.P == x.P {
					all[x.ID] = append(all[x.ID], x.P)
				}
			}
			return nil
		})
	}
	if err := g.Wait(); err != nil {
		t.Fatal(err)
	}
	return all
}

// Of 1,000 short sound lines no fact calls more of them unlike a sound one than its p says, at 0.05, 0.01 and 0.001: exact binomial test
// of each at 1e-3 over the number of tests, so that all together fail by chance less than once in a thousand draws. Facts of both
// senders count under one id.
func TestSoundLinesLookSound(t *testing.T) {
	t.Parallel()
	lines := soundLines
	if testing.Short() || raceEnabled {
		lines = soundShort
	}
	all := soundP(t, lines)
	for _, id := range []string{"time.bias-trend", "time.pattern-after-spaces", "time.pattern-after-marks", "time.mains-locked", "structure.speed-gain",
		"structure.format-gain"} {
		if len(all[id]) < lines/2 {
			t.Errorf("%s has a probability %d times on %d lines", id, len(all[id]), lines)
		}
	}
	levels := []float64{0.05, 0.01, 0.001}
	for id, p := range all {
		slices.Sort(p)
		for _, level := range levels {
			hits, _ := slices.BinarySearch(p, level)
			chance := statistic.BinomialTest(hits, len(p), level, statistic.Greater)
			t.Logf("%s: %d of %d under %g", id, hits, len(p), level)
			if chance < 1e-3/float64(len(levels)*len(all)) {
				t.Errorf("%s: %d of %d are under %g, which chance gives with %.2g", id, hits, len(p), level, chance)
			}
		}
	}
}
