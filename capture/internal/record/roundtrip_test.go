package record_test

import (
	"math"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"linewitness/capture"
	"linewitness/capture/capturetest"
	"linewitness/capture/internal/record"
)

// encode is the records of b, and their headers.
func encode(t testing.TB, seq uint64, b *capture.Block, levels bool) (records [][]byte, headers []record.Header) {
	t.Helper()
	next, err := record.AppendBlock(nil, seq, b, levels, func(p []byte, h *record.Header) error {
		records, headers = append(records, slices.Clone(p)), append(headers, *h)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if next != seq+uint64(len(records)) {
		t.Fatalf("%d records from %d on, next %d", len(records), seq, next)
	}
	return records, headers
}

// decode is the blocks that the records hold, each checked against the rules.
func decode(t testing.TB, records [][]byte) (blocks []*capture.Block) {
	t.Helper()
	b := new(capture.Block)
	var prev *capture.Block
	for _, p := range records {
		h, body, err := record.Parse(p)
		if err != nil {
			t.Fatal(err)
		}
		if err := record.DecodeInto(&h, body, b); err != nil {
			t.Fatal(err)
		}
		if h.Flags&record.FlagMore != 0 {
			continue
		}
		if err := capturetest.Check(prev, b); err != nil {
			t.Fatal(err)
		}
		blocks = append(blocks, b)
		prev, b = b, new(capture.Block)
	}
	return blocks
}

// same compares blocks bit for bit: -0 is not 0.
func same(want, got *capture.Block) string {
	bits := func(a, b float64) bool { return math.Float64bits(a) == math.Float64bits(b) }
	if want.Start == got.Start && want.End == got.End && want.Gap == got.Gap && want.First == got.First &&
		slices.Equal(want.At, got.At) && slices.Equal(want.To, got.To) && slices.Equal(want.Doubt, got.Doubt) &&
		slices.Equal(want.SampleAt, got.SampleAt) && slices.EqualFunc(want.Volts, got.Volts, bits) && slices.Equal(want.Octets, got.Octets) {
		return ""
	}
	return "differs: " + cmp.Diff(want, got, cmpopts.EquateEmpty(), cmp.Comparer(bits)) // slow on large blocks
}

func TestBlocksComeBackEqual(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		b := blockGen().Draw(rt, "block")
		if err := capturetest.Check(nil, b); err != nil {
			rt.Fatalf("drew a block that breaks the rules: %v", err)
		}
		seq := rapid.Uint64Range(0, math.MaxUint64-9).Draw(rt, "seq")
		records, headers := encode(t, seq, b, rapid.Bool().Draw(rt, "levels"))
		for i, p := range records {
			h, _, err := record.Parse(p)
			if err != nil || h != headers[i] || h.Seq != seq+uint64(i) || (h.Flags&record.FlagMore == 0) != (i == len(records)-1) {
				rt.Fatalf("record %d: parsed %+v, %v, want %+v", i, h, err, headers[i])
			}
		}
		got := decode(t, records)
		if len(got) != 1 {
			rt.Fatalf("%d blocks", len(got))
		}
		if d := same(b, got[0]); d != "" {
			rt.Fatalf("(-want +got)\n%s", d)
		}
	})
}
