package record_test

import (
	"encoding/binary"
	"encoding/hex"
	"errors"
	"math"
	"slices"
	"testing"

	"linewitness/capture"
	"linewitness/capture/capturetest"
	"linewitness/capture/internal/record"
)

// crc32c is CRC-32C bit by bit: reflected polynomial 82F63B78. Of "123456789" it is E3069283 (RFC 3720 B.4 has the
// algorithm, the CRC catalogue the check value).
func crc32c(parts ...[]byte) uint32 {
	crc := ^uint32(0)
	for _, p := range parts {
		for _, b := range p {
			crc ^= uint32(b)
			for range 8 {
				crc = crc>>1 ^ 0x82F63B78&-(crc&1)
			}
		}
	}
	return ^crc
}

// resealed is p with the checksum that its bytes ask for.
func resealed(p []byte) []byte {
	p = slices.Clone(p)
	binary.LittleEndian.PutUint32(p[36:], crc32c(p[:36], p[record.HeaderSize:]))
	return p
}

// The layout, written by hand from the package comment.
func TestLayout(t *testing.T) {
	t.Parallel()
	if got := crc32c([]byte("123456789")); got != 0xE3069283 {
		t.Fatalf("the test's own CRC gives %08x", got)
	}
	b := &capture.Block{
		Start: 100, End: 1000, First: capture.High, Gap: capture.Gap{From: 97, To: 100, Count: -1, Why: capture.GapOverflow},
		Transitions: capture.Transitions{At: []capture.Tick{100, 228, 357}, To: []capture.Level{capture.Low, capture.Mid, capture.High}},
		Octets:      []capture.Octet{{At: 101, Value: 0x55, Side: capture.Indoor}, {At: 99, Value: 0xAA, Side: capture.Indoor, Bad: true}},
	}
	records, _ := encode(t, 258, b, true)
	if len(records) != 2 {
		t.Fatalf("%d records", len(records))
	}
	header := func(kind, flags, length, seq, count string) string {
		return "01" + kind + flags + length + seq + "6400000000000000" + "e803000000000000" + count
	}
	for i, want := range []string{
		header("02", "0300", "0a000000", "0201000000000000", "03000000") +
			"04" + "01" + "03" + // overflow, -1, 3 ticks
			"27" + "00" + "00" + "7f" + "8001" + // high, low, mid; varints; at 0, 127 + 1 more, 128 + 1 more
			"02", // mid is the lower of the two others, then high the upper
		header("04", "0800", "07000000", "0301000000000000", "02000000") +
			"04" + "01" + "55aa" + "02" + "02" + "03", // some bad; indoor; values; the second; +1, -2
	} {
		p := records[i]
		got := hex.EncodeToString(p[:36]) + hex.EncodeToString(p[record.HeaderSize:])
		if got != want {
			t.Errorf("record %d:\ngot  %s\nwant %s", i, got, want)
		}
		if want, got := crc32c(p[:36], p[record.HeaderSize:]), binary.LittleEndian.Uint32(p[36:]); got != want {
			t.Errorf("record %d: checksum %08x, want %08x", i, got, want)
		}
	}
}

// samples of all kinds of records, small.
func small(t testing.TB) (all [][]byte) {
	all, _ = encode(t, 5, telegraph(20, 9600, 0.01), true)
	mixed := &capture.Block{
		Start: -50, End: 5e6, Gap: capture.Gap{From: -90, To: -50, Count: 7, Why: capture.GapPaused}, First: capture.Mid,
		Transitions: capture.Transitions{At: []capture.Tick{1, 2, 9}, To: []capture.Level{capture.High, capture.Mid, capture.Low}},
		Doubt:       []capture.Tick{3, 3, 4},
		Samples:     capture.Samples{SampleAt: []capture.Tick{0, 1024, 2048, 3072}, Volts: []float64{0.5, 0.25, -0.75, 0}},
		Octets:      []capture.Octet{{At: 5, Value: 0x1FF, Side: capture.SideA}, {At: 6, Value: 3, Side: capture.SideB, Bad: true}},
	}
	add := func(b *capture.Block, levels bool) {
		more, _ := encode(t, 8, b, levels)
		all = append(all, more...)
	}
	add(mixed, true)
	mixed.Volts = []float64{0.1, 0.7, math.Pi, 4}
	mixed.SampleAt = []capture.Tick{0, 1, 7, 9}
	add(mixed, false)
	decimal := *mixed
	decimal.Volts = []float64{0.1, 0.123, 7.001, -0.004}
	add(&decimal, false)
	add(&capture.Block{End: 250e6}, true)
	clock := record.Meta{Name: "a", Clock: capture.Nanoseconds}
	return append(all,
		record.AppendHead(nil, 0, &clock), record.AppendNote(nil, 1, 2, "note"),
		record.AppendEnd(nil, 3, 4, record.Ending{Records: 3}),
		record.AppendIndex(nil, 4, []record.IndexEntry{{Start: 1, Offset: 2, Seq: 3}, {Start: 9, Offset: 300, Seq: 5}}))
}

func TestEveryFlippedBitIsSeen(t *testing.T) {
	t.Parallel()
	for _, p := range small(t) {
		for bit := range 8 * len(p) {
			p[bit/8] ^= 1 << (bit % 8)
			if _, _, err := record.Parse(p); !errors.Is(err, record.ErrDamaged) {
				t.Errorf("%d bytes, bit %d: %v", len(p), bit, err)
			}
			p[bit/8] ^= 1 << (bit % 8)
		}
		for n := range p {
			if _, _, err := record.Parse(p[:n]); !errors.Is(err, record.ErrDamaged) {
				t.Errorf("cut at %d of %d: %v", n, len(p), err)
			}
		}
		if _, _, err := record.Parse(append(slices.Clone(p), 0)); !errors.Is(err, record.ErrDamaged) {
			t.Errorf("a byte more: %v", err)
		}
	}
}

// try decodes a record that may be anything: it must give an error of the package or content that keeps the rules.
func try(t testing.TB, p []byte) error {
	t.Helper()
	h, body, err := record.Parse(p)
	if err == nil {
		err = decodeAny(t, &h, body)
	}
	if err != nil && !errors.Is(err, record.ErrDamaged) && !errors.Is(err, record.ErrVersion) && !errors.Is(err, record.ErrContent) {
		t.Errorf("an error of no sort: %v", err)
	}
	return err
}

func decodeAny(t testing.TB, h *record.Header, body []byte) (err error) {
	t.Helper()
	switch h.Kind {
	case record.Head:
		_, err = record.DecodeHead(body)
	case record.Note:
		_, err = record.DecodeNote(body)
	case record.Index:
		_, err = record.DecodeIndex(body)
	case record.End:
		_, err = record.DecodeEnd(body)
	default:
		b := capture.Block{Start: h.Start, End: h.End} // as the records before would have left it
		if err = record.DecodeInto(h, body, &b); err != nil {
			return err
		}
		if err := capturetest.Check(nil, &b); err != nil {
			t.Errorf("decoded a block that breaks the rules: %v", err)
		}
		if b.First > capture.High {
			t.Errorf("decoded %v", b.First)
		}
	}
	return err
}

// Header fields at their ends, each with a checksum that fits.
func TestHeaderFieldsAtTheirEnds(t *testing.T) {
	t.Parallel()
	fields := []struct {
		name      string
		at, width int
	}{
		{"version", 0, 1}, {"kind", 1, 1}, {"flags", 2, 2}, {"length", 4, 4},
		{"sequence", 8, 8}, {"start", 16, 8}, {"end", 24, 8}, {"count", 32, 4},
	}
	for _, p := range small(t) {
		for _, f := range fields {
			for _, v := range []uint64{0, 1, 2, 1 << (8*f.width - 1), 1<<(8*f.width-1) - 1, math.MaxUint64} {
				q := slices.Clone(p)
				var field [8]byte
				binary.LittleEndian.PutUint64(field[:], v)
				copy(q[f.at:f.at+f.width], field[:])
				err := try(t, resealed(q))
				switch {
				case f.name == "length" && uint32(v) != binary.LittleEndian.Uint32(p[4:]) && !errors.Is(err, record.ErrDamaged):
					t.Errorf("length %d of %d: %v", uint32(v), len(p), err)
				case f.name == "sequence" && err != nil:
					t.Errorf("sequence %d: %v", v, err)
				case f.name == "version" && v != 1 && !errors.Is(err, record.ErrVersion):
					t.Errorf("version %d: %v", v, err)
				case f.name == "count" && v > record.MaxCount && !errors.Is(err, record.ErrContent):
					t.Errorf("count %d: %v", v, err)
				}
			}
		}
	}
}

// Bodies cut, and every byte of them at its ends, each with a checksum and a length that fit.
func TestBodiesOfOthers(t *testing.T) {
	t.Parallel()
	for _, p := range small(t) {
		for n := record.HeaderSize; n < len(p); n++ {
			q := slices.Clone(p[:n])
			binary.LittleEndian.PutUint32(q[4:], uint32(n-record.HeaderSize))
			_ = try(t, resealed(q))
			for _, v := range []byte{0, 1, 0x7F, 0x80, 0xFF} {
				q := slices.Clone(p)
				q[n] = v
				_ = try(t, resealed(q))
			}
		}
	}
}

func TestPartsMustFitTheirBlock(t *testing.T) {
	t.Parallel()
	b := &capture.Block{End: 10, First: capture.Low, Samples: capture.Samples{SampleAt: []capture.Tick{5}, Volts: []float64{1}}}
	records, headers := encode(t, 0, b, true)
	if len(records) != 2 || headers[1].Flags != record.FlagPart {
		t.Fatalf("%+v", headers)
	}
	h, body := parsed(t, records[1])
	for _, other := range []capture.Block{{End: 11}, {Start: 1, End: 10}} {
		if err := record.DecodeInto(&h, body, &other); !errors.Is(err, record.ErrContent) {
			t.Errorf("into [%d, %d]: %v", other.Start, other.End, err)
		}
	}
}
