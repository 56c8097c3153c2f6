package record_test

import (
	"errors"
	"math"
	"slices"
	"testing"

	"linewitness/capture"
	"linewitness/capture/internal/record"
)

// joined is the one block that the blocks make together; each must follow the one before (decode has checked that).
func joined(blocks []*capture.Block) *capture.Block {
	all := &capture.Block{Start: blocks[0].Start, First: blocks[0].First, Gap: blocks[0].Gap}
	for _, b := range blocks {
		all.End = b.End
		all.At, all.To = append(all.At, b.At...), append(all.To, b.To...)
		all.Doubt = append(all.Doubt, b.Doubt...)
		all.SampleAt, all.Volts = append(all.SampleAt, b.SampleAt...), append(all.Volts, b.Volts...)
		all.Octets = append(all.Octets, b.Octets...)
	}
	return all
}

// large has so many transitions, samples and octets; the samples stand in its last third, the octets all at one instant if so.
func large(transitions, samples, octets int, clump, doubt bool) *capture.Block {
	b := telegraph(max(transitions, 1), 9600, 0.01)
	b.At, b.To = b.At[:transitions], b.To[:transitions]
	b.End += capture.Tick(samples + octets)
	b.Gap = capture.Gap{From: -1, Count: 3, Why: capture.GapUnknown}
	for i := range transitions {
		if doubt {
			b.Doubt = append(b.Doubt, capture.Tick(i%300))
		}
	}
	for i := range samples {
		b.SampleAt, b.Volts = append(b.SampleAt, b.End-capture.Tick(samples-i)), append(b.Volts, float64(i%1000)/7)
	}
	for i := range octets {
		at := b.Start + capture.Tick(i)
		if clump {
			at = b.End
		}
		b.Octets = append(b.Octets, capture.Octet{At: at, Value: uint16(i % 512)})
	}
	return b
}

func TestLargeBlocksAreSplit(t *testing.T) {
	t.Parallel()
	const n = record.MaxCount
	backward := large(3, 3, 2*n+1, false, false)
	slices.Reverse(backward.Octets)
	outside := large(0, n+1, n+1, false, false)
	for i := range outside.Octets {
		outside.Octets[i].At = math.MinInt64
	}
	for name, c := range map[string]struct {
		b      *capture.Block
		blocks int
	}{
		"largest":            {large(n, n, n, false, true), 1},
		"one more":           {large(n+1, 0, 0, false, true), 2},
		"many transitions":   {large(3*n+5, 100, 100, false, true), 4},
		"many samples":       {large(10, 2*n+1, 0, false, false), 3},
		"many of all":        {large(n+1, n+1, n+1, false, false), 3},
		"octets in a clump":  {large(5, 5, 2*n+1, true, false), 3},
		"octets backward":    {backward, 3},
		"octets far outside": {outside, 3},
	} {
		records, headers := encode(t, 0, c.b, true)
		for i, h := range headers {
			if h.Count > record.MaxCount || h.Length > record.MaxBody || int(h.Length) != len(records[i])-record.HeaderSize {
				t.Errorf("%s: %+v", name, h)
			}
		}
		blocks := decode(t, records)
		if name != "many of all" && len(blocks) != c.blocks || len(blocks) < 2 && c.blocks > 1 {
			t.Errorf("%s: %d blocks, want %d", name, len(blocks), c.blocks)
		}
		if d := same(c.b, joined(blocks)); d != "" {
			t.Errorf("%s: %.2000s", name, d)
		}
	}
}

func TestWhichRecordsABlockHas(t *testing.T) {
	t.Parallel()
	samples := capture.Samples{SampleAt: []capture.Tick{1}, Volts: []float64{1}}
	octets := []capture.Octet{{At: 1}}
	gap := capture.Gap{From: -1, Why: capture.GapFloating}
	for name, c := range map[string]struct {
		b      capture.Block
		levels bool
		want   []record.Kind
	}{
		"nothing":          {capture.Block{End: 9}, false, []record.Kind{record.Levels}},
		"nothing happened": {capture.Block{End: 9}, true, []record.Kind{record.Levels}},
		"volts alone":      {capture.Block{End: 9, Gap: gap, Samples: samples}, false, []record.Kind{record.Volts}},
		"octets alone":     {capture.Block{End: 9, Gap: gap, Octets: octets}, false, []record.Kind{record.Octets}},
		"volts and octets": {
			capture.Block{End: 9, Gap: gap, Samples: samples, Octets: octets}, false, []record.Kind{record.Volts, record.Octets},
		},
		"volts and a level at all": {
			capture.Block{End: 9, First: capture.Low, Samples: samples}, false, []record.Kind{record.Levels, record.Volts},
		},
		"all": {
			capture.Block{End: 9, Gap: gap, Samples: samples, Octets: octets}, true, []record.Kind{record.Levels, record.Volts, record.Octets},
		},
	} {
		records, headers := encode(t, 0, &c.b, c.levels)
		var got []record.Kind
		for i, h := range headers {
			got = append(got, h.Kind)
			if gap := h.Flags&record.FlagGap != 0; gap != (i == 0 && c.b.Gap.Present()) || (h.Flags&record.FlagPart != 0) != (i > 0) {
				t.Errorf("%s: %v has flags %04x", name, h.Kind, h.Flags)
			}
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: got %v, want %v", name, got, c.want)
		}
		if d := same(&c.b, decode(t, records)[0]); d != "" {
			t.Errorf("%s: %s", name, d)
		}
	}
}

// A block that breaks the rules is refused whole, and an error of each is handed on with the number to go on from.
func TestRefused(t *testing.T) {
	t.Parallel()
	tr := func(at ...capture.Tick) capture.Transitions {
		to := []capture.Level{capture.Low, capture.High, capture.Low}
		return capture.Transitions{At: at, To: to[:len(at)]}
	}
	for name, b := range map[string]*capture.Block{
		"end before start": {Start: 1}, "first level": {First: 4}, "slices": {End: 9, Transitions: capture.Transitions{At: []capture.Tick{1}}},
		"doubts": {End: 9, Transitions: tr(1, 2), Doubt: []capture.Tick{1}}, "outside": {End: 9, Transitions: tr(1, 10)},
		"before": {Start: 2, End: 9, Transitions: tr(1)}, "not rising": {End: 9, Transitions: tr(1, 3, 3)},
		"same level":    {End: 9, First: capture.Low, Transitions: tr(1)},
		"unknown level": {End: 9, Transitions: capture.Transitions{At: []capture.Tick{1}, To: []capture.Level{capture.Unknown}}},
		"gap elsewhere": {End: 9, Gap: capture.Gap{From: -2, To: -1, Why: capture.GapPaused}},
		"gap unsaid":    {End: 9, Gap: capture.Gap{Count: 1}},
		"not a number":  {End: 9, Samples: capture.Samples{SampleAt: []capture.Tick{1}, Volts: []float64{math.NaN()}}},
		"infinite":      {End: 9, Samples: capture.Samples{SampleAt: []capture.Tick{1}, Volts: []float64{math.Inf(-1)}}},
		"sample before": {Start: 2, End: 9, Samples: capture.Samples{SampleAt: []capture.Tick{1}, Volts: []float64{1}}},
	} {
		next, err := record.AppendBlock(nil, 5, b, true, func([]byte, *record.Header) error { t.Errorf("%s: a record", name); return nil })
		if next != 5 || !errors.Is(err, record.ErrContent) {
			t.Errorf("%s: next %d, %v", name, next, err)
		}
	}
	full, n := errors.New("disk full"), 0
	b := &capture.Block{End: 9, Octets: []capture.Octet{{}}}
	next, err := record.AppendBlock(nil, 5, b, true, func([]byte, *record.Header) error {
		if n++; n == 2 {
			return full
		}
		return nil
	})
	if next != 6 || !errors.Is(err, full) {
		t.Errorf("next %d, %v", next, err)
	}
}
