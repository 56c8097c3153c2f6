package record_test

import (
	"encoding/binary"
	"runtime"
	"slices"
	"testing"

	"linewitness/capture"
	"linewitness/capture/internal/record"
)

// most is what the content of the largest record takes, 17 bytes a transition, and 64 KiB for what runs beside the test:
// the runtime counts the allocations of the whole process.
const most = 17*record.MaxCount + 64<<10

// FuzzParse decodes anything, as it comes and with version, length and checksum put right: an error or content that keeps
// the rules, and no more memory than 16 times the input and the largest content.
func FuzzParse(f *testing.F) {
	for _, p := range small(f) {
		f.Add(p)
	}
	for _, b := range []*capture.Block{telegraph(300, 1200, 0.002), codes(600, 16), large(20, 20, 20, true, true)} {
		records, _ := encode(f, 0, b, false)
		for _, p := range records {
			f.Add(p)
		}
	}
	for _, b := range []*capture.Block{dense(), still()} {
		records, _ := encode(f, 0, b, false)
		f.Add(records[0])
	}
	f.Fuzz(func(t *testing.T, p []byte) {
		_ = try(t, p)
		if len(p) < record.HeaderSize || len(p) > record.HeaderSize+record.MaxBody {
			return
		}
		p = slices.Clone(p)
		p[0] = record.Version
		binary.LittleEndian.PutUint32(p[4:], uint32(len(p)-record.HeaderSize))
		p = resealed(p)
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		_ = try(t, p)
		runtime.ReadMemStats(&after)
		if took := after.TotalAlloc - before.TotalAlloc; took > growth*uint64(16*len(p)+most) {
			t.Errorf("%d bytes of input took %d", len(p), took)
		}
		again(t, p)
	})
}

// dense is the largest block of transitions in the fewest bytes.
func dense() *capture.Block {
	b := &capture.Block{End: record.MaxCount}
	for i := range record.MaxCount {
		b.At, b.To = append(b.At, capture.Tick(i)), append(b.To, capture.Low+2*capture.Level(i&1))
		b.Doubt = append(b.Doubt, 0)
	}
	return b
}

// still is the largest block of samples in the fewest bytes.
func still() *capture.Block {
	b := &capture.Block{End: record.MaxCount}
	for i := range record.MaxCount {
		b.SampleAt, b.Volts = append(b.SampleAt, capture.Tick(i)), append(b.Volts, 0)
	}
	return b
}

// again: what decodes encodes, and comes back the same.
func again(t *testing.T, p []byte) {
	h, body, err := record.Parse(p)
	if err != nil || h.Kind < record.Levels || h.Kind > record.Octets || h.Flags&record.FlagPart != 0 {
		return
	}
	var b capture.Block
	if record.DecodeInto(&h, body, &b) != nil {
		return
	}
	records, _ := encode(t, h.Seq&(1<<63-1), &b, h.Kind == record.Levels)
	if d := same(&b, decode(t, records)[0]); d != "" {
		t.Error(d)
	}
}
