package validate_test

import (
	"slices"
	"testing"

	"linewitness/capture"
	"linewitness/capture/capturetest"
	"linewitness/decode/validate"
)

// BenchmarkLevelFacts runs each step over 60 s of talk, and of rest, at 20 kSa/s:
//
//	go test -run - -bench LevelFacts ./decode/validate
func BenchmarkLevelFacts(b *testing.B) {
	for _, talk := range []string{"talk", "rest"} {
		l := &capturetest.Loop{Rate: 20000, Seconds: 60, Tau: 50e-6, Noise: 0.05, Seed: 1}
		if talk == "talk" {
			levelTalk(l, 2400)
		}
		all := levelSliced(l)
		var blocks []*capture.Block
		levelBlocks(all, func() int { return 4096 }, func(x *capture.Block) { blocks = append(blocks, x) })
		var pieces []validate.Piece
		k := validate.NewCutting(l.Clock())
		for _, x := range blocks {
			k.Add(x, func(p validate.Piece) {
				p.At, p.Volts = slices.Clone(p.At), slices.Clone(p.Volts)
				pieces = append(pieces, p)
			})
		}
		for _, step := range []struct {
			name string
			make func() (func(*capture.Block), func(validate.Piece))
		}{
			{"cutting", func() (func(*capture.Block), func(validate.Piece)) {
				k := validate.NewCutting(l.Clock())
				return func(x *capture.Block) { k.Add(x, func(validate.Piece) {}) }, nil
			}},
			{"levels", func() (func(*capture.Block), func(validate.Piece)) { return nil, validate.NewLevels(l.Clock()).Add }},
			{"edges", func() (func(*capture.Block), func(validate.Piece)) { return validate.NewEdges(l.Clock()).Add, nil }},
			{"spikes", func() (func(*capture.Block), func(validate.Piece)) {
				s := validate.NewSpikes(l.Clock())
				s.Unit(l.Clock().Ticks(1. / 2400))
				return s.Add, nil
			}},
		} {
			b.Run("line="+talk+"/step="+step.name, func(b *testing.B) {
				b.ReportAllocs()
				n := 0
				for b.Loop() {
					n = 0
					block, piece := step.make()
					if block != nil {
						for _, x := range blocks {
							block(x)
							n += len(x.Volts)
						}
						continue
					}
					for _, p := range pieces {
						piece(p)
						n += len(p.Volts)
					}
				}
				b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/sample")
			})
		}
	}
}

// In steady state nothing is allocated a block, whatever is in it.
func TestLevelFactsAllocateNothing(t *testing.T) {
	l := &capturetest.Loop{Rate: 20000, Seconds: 30, Tau: 100e-6, Noise: 0.05, Seed: 19}
	levelTalk(l, 2400)
	var blocks []*capture.Block
	levelBlocks(levelSliced(l), func() int { return 4096 }, func(x *capture.Block) { blocks = append(blocks, x) })
	lv, e, s := validate.NewLevels(l.Clock()), validate.NewEdges(l.Clock()), validate.NewSpikes(l.Clock())
	k, give := validate.NewCutting(l.Clock()), lv.Add
	next := func() {
		k.Add(blocks[0], give)
		e.Add(blocks[0])
		s.Add(blocks[0])
		blocks = blocks[1:]
	}
	for len(blocks) > 50 {
		next()
	}
	if n := testing.AllocsPerRun(len(blocks)-1, next); n != 0 {
		t.Errorf("%g allocations a block", n)
	}
}
