package output

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"linewitness/capture"
	"linewitness/decode/link"
)

func someFrames() []link.Frame {
	return []link.Frame{
		{At: 1_234_567_000, End: 1_245_000_000, Side: capture.Indoor, Why: link.WhyChecksum, Values: []uint16{0xAA, 0x10}},
		{At: 2_000_000_000, End: 2_000_000_001, Side: capture.SideB, Values: []uint16{0x01, 0x00, 0xFF}},
		{At: 3_000_000_000, End: 3_100_000_000, Side: capture.Line, Why: link.WhyParity | link.WhyStop | link.WhyUnframed},
		{At: 4_000_000_000, End: 4_100_000_000, Side: capture.Outdoor, Why: link.WhyCut, Values: []uint16{0x7F}},
		{At: 5_000_000_000, End: 5_100_000_000, Side: capture.Outdoor, Why: link.WhyCut | link.WhyLength, DataBits: 9, Values: []uint16{0x1FF, 0x02}},
		{At: 6_000_000_000, End: 6_100_000_000, Side: capture.Outdoor, Why: link.WhyTiming, DataBits: 9, Values: []uint16{0x01}},
	}
}

func write(t *testing.T, w *Frames, name string) {
	t.Helper()
	w.Recording(name, capture.Nanoseconds, nil)
	frames := someFrames()
	for i := range frames {
		w.Add(&frames[i])
	}
}

const wantLines = `{"name":"rec.vcd","t_s":1.234567,"end_s":1.245,"side":"indoor","hex":"AA10","ok":false,"why":["checksum"]}
{"name":"rec.vcd","t_s":2,"end_s":2.000000001,"side":"b","hex":"0100FF","ok":true,"why":[]}
{"name":"rec.vcd","t_s":3,"end_s":3.1,"side":"unknown","hex":"","ok":false,"why":["parity","stop","unframed"]}
{"name":"rec.vcd","t_s":4,"end_s":4.1,"side":"outdoor","hex":"7F","ok":false,"why":["unframed"]}
{"name":"rec.vcd","t_s":5,"end_s":5.1,"side":"outdoor","hex":"01FF0002","ok":false,"why":["length"]}
{"name":"rec.vcd","t_s":6,"end_s":6.1,"side":"outdoor","hex":"0001","ok":false,"why":["timing"]}
`

func TestFramesAsJSONLines(t *testing.T) {
	var out bytes.Buffer
	w, err := OpenFrames("-", &out)
	if err != nil {
		t.Fatal(err)
	}
	write(t, w, "rec.vcd")
	if err := w.Commit(); err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(wantLines, out.String()); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
	for _, line := range strings.Split(strings.TrimSpace(out.String()), "\n") {
		if !json.Valid([]byte(line)) {
			t.Errorf("no JSON: %s", line)
		}
	}
}

func TestFramesAsCSV(t *testing.T) {
	name := filepath.Join(t.TempDir(), "out.CSV")
	w, err := OpenFrames(name, nil)
	if err != nil {
		t.Fatal(err)
	}
	odd := "a, \"b\"\nc.vcd"
	write(t, w, odd)
	if err := w.Commit(); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	got, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	want := [][]string{
		FramesColumns,
		{odd, "1.234567", "1.245", "indoor", "AA10", "false", "checksum", "", ""},
		{odd, "2", "2.000000001", "b", "0100FF", "true", "", "", ""},
		{odd, "3", "3.1", "unknown", "", "false", "parity+stop+unframed", "", ""},
		{odd, "4", "4.1", "outdoor", "7F", "false", "unframed", "", ""},
		{odd, "5", "5.1", "outdoor", "01FF0002", "false", "length", "", ""},
		{odd, "6", "6.1", "outdoor", "0001", "false", "timing", "", ""},
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
}

func TestNineBitCharactersTakeFourDigits(t *testing.T) {
	var out bytes.Buffer
	w, _ := OpenFrames("-", &out)
	f := link.Frame{Values: []uint16{0x0A}, DataBits: 9}
	w.Recording("nine", capture.Nanoseconds, nil)
	w.Add(&f)
	f.DataBits = 8
	w.Recording("eight", capture.Nanoseconds, nil)
	w.Add(&f)
	if err := w.Commit(); err != nil {
		t.Fatal(err)
	}
	if s := out.String(); strings.Count(s, `"hex":"000A"`) != 1 || strings.Count(s, `"hex":"0A"`) != 1 {
		t.Error(s)
	}
}

func TestFramesEndings(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"a", "a.txt", "a.jsonl.gz", ""} {
		_, err := OpenFrames(filepath.Join(dir, name), nil)
		if !errors.As(err, new(*EndingError)) {
			t.Errorf("%q: error %v, want an EndingError", name, err)
		}
	}
	if _, err := OpenFrames(filepath.Join(dir, "none", "a.csv"), nil); !errors.Is(err, os.ErrNotExist) || !strings.Contains(err.Error(), "a.csv") || strings.Contains(err.Error(), ".part") {
		t.Errorf("missing folder: %v", err)
	}
	wantFiles(t, dir)
}

func wantFiles(t *testing.T, dir string, want ...string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, e := range entries {
		got = append(got, e.Name())
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("files in the folder (-want +got):\n%s", d)
	}
}

func TestFramesFileIsWholeOrUnchanged(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "out.jsonl")
	if err := os.WriteFile(name, []byte("before\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	w, err := OpenFrames(name, nil)
	if err != nil {
		t.Fatal(err)
	}
	write(t, w, "rec.vcd")
	w.Abandon()
	wantFiles(t, dir, "out.jsonl")
	if b, _ := os.ReadFile(name); string(b) != "before\n" {
		t.Errorf("abandoned output changed the file: %q", b)
	}

	w, err = OpenFrames(name, nil)
	if err != nil {
		t.Fatal(err)
	}
	write(t, w, "rec.vcd")
	w.Mark()
	write(t, w, "bad.vcd")
	w.Drop()
	w.Drop() // of a recording that could not even be opened
	if err := w.Commit(); err != nil {
		t.Fatal(err)
	}
	w.Abandon() // does nothing after Commit
	wantFiles(t, dir, "out.jsonl")
	if b, _ := os.ReadFile(name); string(b) != wantLines {
		t.Errorf("got %s", b)
	}
}

func TestFramesFileOnAFullDisk(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "out.jsonl")
	w, err := OpenFrames(name, nil)
	if err != nil {
		t.Fatal(err)
	}
	w.file.File.Close() // every write fails from here on
	for range 2000 {
		write(t, w, "rec.vcd")
	}
	if err := w.Commit(); err == nil {
		t.Error("no error")
	}
	wantFiles(t, dir)
}

func TestFramesKeepTheFirstError(t *testing.T) {
	w, err := OpenFrames("-", failing{})
	if err != nil {
		t.Fatal(err)
	}
	for range 2000 {
		write(t, w, "rec.vcd")
	}
	if err := w.Commit(); !errors.Is(err, io.ErrShortBuffer) {
		t.Errorf("error %v", err)
	}
}

type failing struct{}

func (failing) Write([]byte) (int, error) { return 0, io.ErrShortBuffer }

func TestFramesThroughALink(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "out.jsonl")
	if err := os.WriteFile(filepath.Join(dir, "real"), nil, 0o666); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink("real", name); err != nil {
		t.Skip(err)
	}
	w, err := OpenFrames(name, nil)
	if err != nil {
		t.Fatal(err)
	}
	write(t, w, "rec.vcd")
	if err := w.Commit(); err != nil {
		t.Fatal(err)
	}
	if b, _ := os.ReadFile(filepath.Join(dir, "real")); string(b) != wantLines {
		t.Errorf("got %s", b)
	}
	wantFiles(t, dir, "out.jsonl", "real")
}

func TestAddAllocatesNothing(t *testing.T) {
	for _, clock := range []capture.Clock{capture.Nanoseconds, {Num: 48000 * 1024, Den: 1}} {
		w, _ := OpenFrames("-", io.Discard)
		w.Recording("rec.vcd", clock, nil)
		frames := someFrames()
		w.Add(&frames[0]) // makes the line's storage
		if n := testing.AllocsPerRun(1000, func() { w.Add(&frames[1]) }); n != 0 {
			t.Errorf("clock %v: %v allocations a frame", clock, n)
		}
	}
}

// go test ./cmd/linewitness/internal/output -run - -bench Frames -count 6
func BenchmarkFrames(b *testing.B) {
	for _, format := range []struct {
		name string
		enc  encoder
	}{{"jsonl", &jsonLines{}}, {"csv", &commaSeparated{}}} {
		b.Run("format="+format.name, func(b *testing.B) {
			w, _ := OpenFrames("-", io.Discard)
			w.enc = format.enc
			w.Recording("rec.vcd", capture.Nanoseconds, nil)
			f := link.Frame{At: 1_234_567_000, End: 1_245_000_000, Side: capture.Indoor, Values: make([]uint16, 12)}
			b.ReportAllocs()
			for b.Loop() {
				w.Add(&f)
			}
		})
	}
}
