package capturetest

import (
	"bytes"
	"errors"
	"io"
	"runtime"
	"testing"
	"testing/iotest"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"linewitness/capture"
)

// Format is how the suite opens a recording; limit is the size of a block, 0: the default.
type Format func(r io.Reader, limit int) (capture.Source, error)

// read is the content of data, and the error of opening or reading it.
func (f Format) read(r io.Reader, limit int) (*Content, error) {
	s, err := f(r, limit)
	if err != nil {
		return new(Content), err
	}
	return Collect(s)
}

// Read is the content of data, or as much of it as stands before the error.
func (f Format) Read(data []byte) (*Content, error) { return f.read(bytes.NewReader(data), 0) }

// diff compares contents; the number of blocks may differ.
func diff(want, got *Content) string {
	return cmp.Diff(want, got, cmpopts.IgnoreFields(Content{}, "Blocks"), cmpopts.EquateEmpty())
}

// Sizes tests that the size of a block and the way the bytes come change nothing, neither of the content nor of the
// error.
func (f Format) Sizes(t *testing.T, data []byte) {
	t.Helper()
	want, wantErr := f.Read(data)
	check := func(how string, r io.Reader, limit int) {
		got, err := f.read(r, limit)
		if text(err) != text(wantErr) {
			t.Errorf("%s, blocks of %d: error %v, want %v", how, limit, err, wantErr)
		}
		if d := diff(want, got); d != "" {
			t.Errorf("%s, blocks of %d: (-want +got)\n%s", how, limit, d)
		}
	}
	for _, limit := range []int{1, 7, 4096} {
		check("whole", bytes.NewReader(data), limit)
		check("by bytes", iotest.OneByteReader(bytes.NewReader(data)), limit)
		check("by halves", iotest.HalfReader(bytes.NewReader(data)), limit)
		check("data with the end", iotest.DataErrReader(bytes.NewReader(data)), limit)
	}
}

func text(err error) string {
	if err == nil {
		return ""
	}
	return err.Error()
}

// Cuts tests that a recording cut at any byte gives a beginning of the whole, and that what the source itself says
// is not lost when it fails there.
func (f Format) Cuts(t *testing.T, data []byte) {
	t.Helper()
	whole, err := f.Read(data)
	if err != nil {
		t.Fatal(err)
	}
	for n := range data {
		got, err := f.Read(data[:n])
		var broken *BrokenRule
		if errors.As(err, &broken) {
			t.Errorf("cut at %d: %v", n, err)
		}
		if got.Blocks > 0 && !begins(whole, got) {
			t.Errorf("cut at %d: not a beginning of the whole: (-whole +cut)\n%s", n, diff(whole, got))
		}
		failure := errors.New("cable pulled")
		r := io.MultiReader(bytes.NewReader(data[:n]), iotest.ErrReader(failure))
		if _, err := f.read(r, 0); !errors.Is(err, failure) {
			t.Errorf("failure at %d: got %v", n, err)
		}
	}
}

// begins tells whether part is a beginning of whole. The last gap and the last sample may be shorter or other: what
// follows at the same instant wins.
func begins(whole, part *Content) bool {
	if part.Start != whole.Start || part.End > whole.End || len(part.At) > len(whole.At) || len(part.SampleAt) > len(whole.SampleAt) {
		return false
	}
	for i, at := range part.At {
		if at != whole.At[i] || part.To[i] != whole.To[i] {
			return at == part.End && i == len(part.At)-1
		}
	}
	for i, at := range part.SampleAt {
		if at != whole.SampleAt[i] || part.Volts[i] != whole.Volts[i] {
			return at == part.End && i == len(part.SampleAt)-1
		}
	}
	return true
}

// Memory tests that a recording a hundred times longer takes no more memory: generate gives one of about n bytes.
func (f Format) Memory(t *testing.T, n int64, generate func(n int64) io.Reader) {
	t.Helper()
	short, long := f.allocated(t, generate(n)), f.allocated(t, generate(100*n))
	if limit := short + short/20 + 64<<10; long > limit {
		t.Errorf("allocated %d bytes for a recording, %d for one 100 times longer", short, long)
	}
}

// allocated is all that reading takes, freed or not: the peak can't be more.
func (f Format) allocated(t *testing.T, r io.Reader) uint64 {
	t.Helper()
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	s, err := f(r, 500) // small, so that the short recording fills whole blocks too
	var b capture.Block
	for err == nil {
		err = s.Next(&b)
	}
	if err != io.EOF {
		t.Fatal(err)
	}
	runtime.ReadMemStats(&after)
	return after.TotalAlloc - before.TotalAlloc
}

// Allocs tests that blocks are refilled without allocation. r must have more than 50 blocks of 100.
func (f Format) Allocs(t *testing.T, r io.Reader) {
	t.Helper()
	s, err := f(r, 100)
	if err != nil {
		t.Fatal(err)
	}
	var b capture.Block
	next := func() {
		if err := s.Next(&b); err != nil {
			t.Fatal(err)
		}
	}
	for range 10 {
		next()
	}
	if n := testing.AllocsPerRun(30, next); n != 0 {
		t.Errorf("%v allocations a block", n)
	}
}

// Repeat gives head and then n bytes or a little more of what next appends.
func Repeat(head string, n int64, next func(p []byte) []byte) io.Reader {
	return &repeat{buf: []byte(head), left: n, next: next}
}

type repeat struct {
	buf  []byte
	at   int
	left int64
	next func(p []byte) []byte
}

func (r *repeat) Read(p []byte) (int, error) {
	if r.at == len(r.buf) {
		if r.left <= 0 {
			return 0, io.EOF
		}
		r.buf, r.at = r.buf[:0], 0
		for len(r.buf) < 4096 {
			r.buf = r.next(r.buf)
		}
		r.left -= int64(len(r.buf))
	}
	n := copy(p, r.buf[r.at:])
	r.at += n
	return n, nil
}

// Fuzz tests what must hold of any input: a clear end, rules kept, no more content than the input has room for, and
// the same for blocks of any size.
func (f Format) Fuzz(t *testing.T, data []byte) {
	t.Helper()
	want, err := f.Read(data)
	var broken *BrokenRule
	if errors.As(err, &broken) {
		t.Fatal(err)
	}
	if n := len(want.At) + len(want.SampleAt) + len(want.Gaps); n > len(data) {
		t.Fatalf("%d bytes gave %d transitions, samples and gaps", len(data), n)
	}
	got, again := f.read(bytes.NewReader(data), 1)
	if text(err) != text(again) {
		t.Fatalf("error %v, with blocks of 1 %v", err, again)
	}
	if d := diff(want, got); d != "" {
		t.Fatalf("blocks of 1: (-want +got)\n%s", d)
	}
}
