package record_test

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"linewitness/capture"
	"linewitness/capture/internal/record"
)

// parsed is the header and the body of a record that must be sound.
func parsed(t testing.TB, p []byte) (record.Header, []byte) {
	t.Helper()
	h, body, err := record.Parse(p)
	if err != nil {
		t.Fatal(err)
	}
	return h, body
}

func TestHeadComesBack(t *testing.T) {
	t.Parallel()
	for name, info := range map[string]capture.Info{
		"nothing known": {Clock: capture.Nanoseconds, Levels: true},
		"sound": {
			Name: "a \"b\"\n.wav", Format: "wav", Clock: capture.Clock{Num: 44100 * 1024, Den: 1}, Tap: capture.OutdoorTerminal,
			Volts: true, FullScale: 0.1, Relative: true, Start: time.Date(2023, 11, 14, 22, 13, 20, 123456789, time.FixedZone("", 3600)),
		},
		"slow":  {Clock: capture.Clock{Num: 1, Den: 100}, Tap: capture.Pair, FullScale: 5e-324},
		"odd":   {Clock: capture.Clock{Num: math.MaxInt64, Den: math.MaxInt64 - 1}, Size: 99},
		"first": {Clock: capture.Nanoseconds, Start: time.Date(1, 1, 2, 0, 0, 0, 1, time.UTC)},
		"last":  {Clock: capture.Nanoseconds, Start: time.Date(9998, 12, 31, 23, 0, 0, 0, time.UTC)},
	} {
		want := record.MetaOf(&info)
		want.Part, want.Since = len(name), capture.Tick(info.Size)-7
		h, body := parsed(t, record.AppendHead([]byte("before"), 7, &want)[len("before"):])
		got, err := record.DecodeHead(body)
		if err != nil || h.Kind != record.Head || h.Seq != 7 {
			t.Fatalf("%s: %+v, %v", name, h, err)
		}
		if d := cmp.Diff(&want, got, cmpopts.EquateApproxTime(0)); d != "" {
			t.Errorf("%s (-want +got)\n%s", name, d)
		}
	}
}

// What JSON or the format cannot hold is left out, never refused: the recording counts.
func TestHeadLeavesOutWhatCannotBeKept(t *testing.T) {
	t.Parallel()
	m := record.Meta{
		Name: strings.Repeat("\"\xff", 1<<20), Format: strings.Repeat("\x00", 1<<20), Clock: capture.Nanoseconds,
		FullScale: math.NaN(), Tap: 99, Start: time.Date(20000, 1, 1, 0, 0, 0, 0, time.UTC),
	}
	_, body := parsed(t, record.AppendHead(nil, 0, &m))
	got, err := record.DecodeHead(body)
	if err != nil {
		t.Fatal(err)
	}
	if got.FullScale != 0 || got.Tap != capture.TapUnknown || !got.Start.IsZero() || !utf8.ValidString(got.Name) || len(got.Name) < 1000 {
		t.Errorf("got %v, %v, %v, a name of %d bytes", got.FullScale, got.Tap, got.Start, len(got.Name))
	}
}

func TestHeadsOfOthers(t *testing.T) {
	t.Parallel()
	got, err := record.DecodeHead([]byte(`{"clock_num":1000,"clock_den":1,"tap":"moon","colour":{"a":[1]},"levels":true}`))
	if err != nil || *got != (record.Meta{Clock: capture.Clock{Num: 1000, Den: 1}, Levels: true}) {
		t.Errorf("got %+v, %v", got, err)
	}
	for _, bad := range []string{
		``, `{`, `[]`, `{"clock_num":1}`, `{"clock_num":-1,"clock_den":1}`, `{"clock_num":1.5,"clock_den":1}`,
		`{"clock_num":1,"clock_den":1,"start":"today"}`, `{"clock_num":1,"clock_den":1,"full_scale_v":1e999}`,
		`{"clock_num":1,"clock_den":1}` + strings.Repeat(" ", record.MaxText),
	} {
		if got, err := record.DecodeHead([]byte(bad)); !errors.Is(err, record.ErrContent) {
			t.Errorf("%.60q: got %+v, %v", bad, got, err)
		}
	}
}

func TestNotesComeBack(t *testing.T) {
	t.Parallel()
	long := strings.Repeat("ü", record.MaxText)
	for text, want := range map[string]string{
		"": "", "indoor unit off": "indoor unit off", "a\xffb": "a\uFFFDb", long: long[:record.MaxText],
		"x" + long: ("x" + long)[:record.MaxText-1],
	} {
		h, body := parsed(t, record.AppendNote(nil, 3, -5, text))
		got, err := record.DecodeNote(body)
		if err != nil || got != want || h.Kind != record.Note || h.Start != -5 || h.End != -5 || h.Seq != 3 {
			t.Errorf("%.20q: got %.20q (%d bytes), %v, %+v", text, got, len(got), err, h)
		}
	}
	if _, err := record.DecodeNote([]byte("\xff")); !errors.Is(err, record.ErrContent) {
		t.Errorf("got %v", err)
	}
}

func TestEndsComeBack(t *testing.T) {
	t.Parallel()
	for _, want := range []record.Ending{{}, {Records: math.MaxUint64, Index: math.MaxInt64, More: true}, {Records: 1, Index: 300}} {
		h, body := parsed(t, record.AppendEnd(nil, 9, math.MinInt64, want))
		got, err := record.DecodeEnd(body)
		if err != nil || got != want || h.Kind != record.End || h.Start != math.MinInt64 {
			t.Errorf("got %+v, %v, want %+v", got, err, want)
		}
		for n := range body {
			if got, err := record.DecodeEnd(body[:n]); !errors.Is(err, record.ErrContent) {
				t.Errorf("cut at %d: got %+v, %v", n, got, err)
			}
		}
		if _, err := record.DecodeEnd(append(slices.Clone(body), 0)); !errors.Is(err, record.ErrContent) {
			t.Errorf("a byte more: got %v", err)
		}
	}
}

func TestIndexComesBack(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		entry := rapid.Custom(func(t *rapid.T) record.IndexEntry {
			return record.IndexEntry{
				Start: capture.Tick(rapid.Int64().Draw(t, "start")), Offset: rapid.Int64().Draw(t, "offset"), Seq: rapid.Uint64().Draw(t, "seq"),
			}
		})
		want := rapid.SliceOfN(entry, 0, 50).Draw(rt, "entries")
		h, body := parsed(t, record.AppendIndex(nil, 1, want))
		got, err := record.DecodeIndex(body)
		if err != nil || h.Kind != record.Index || int(h.Count) != len(want) {
			rt.Fatalf("%+v, %v", h, err)
		}
		if d := cmp.Diff(want, got, cmpopts.EquateEmpty()); d != "" {
			rt.Fatal(d)
		}
	})
	most := make([]record.IndexEntry, record.MaxCount+1)
	_, body := parsed(t, record.AppendIndex(nil, 0, most))
	if got, err := record.DecodeIndex(body); err != nil || len(got) != record.MaxCount {
		t.Errorf("got %d, %v", len(got), err)
	}
	for _, bad := range [][]byte{append(body, 0, 0, 0), {0}, {0, 0}, {0, 0, 0x80}} {
		if got, err := record.DecodeIndex(bad); !errors.Is(err, record.ErrContent) {
			t.Errorf("%d bytes: got %d entries, %v", len(bad), len(got), err)
		}
	}
}
