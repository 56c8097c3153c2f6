package pcapng_test

import (
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"strings"
	"syscall"
	"testing"

	"linewitness/capture"
	"linewitness/capture/pcapng"
)

// session writes blocks with a Sync now and then, and tells how many of them were acknowledged and how it ended.
func session(m *memFS, blocks []capture.Block, opt pcapng.WriteOptions, r *rand.Rand) (sure int, closed bool, err error) {
	w, err := pcapng.NewWriter(m, "heron.pcapng", madeInfo, opt)
	if err != nil {
		return 0, false, err
	}
	for i := range blocks {
		if err = w.Write(&blocks[i]); err != nil {
			break
		}
		if r.IntN(4) == 0 {
			if err = w.Sync(); err != nil {
				break
			}
			sure = i + 1
		}
	}
	end := w.Close()
	if err == nil && end == nil {
		return len(blocks), true, nil
	}
	if again := w.Close(); again != end {
		return sure, false, fmt.Errorf("closed with %v, then with %v", end, again)
	}
	if err != nil && end != err {
		return sure, false, fmt.Errorf("failed with %v, closed with %v", err, end)
	}
	return sure, false, end
}

// found reads what a crash left, file after file, and puts the blocks back on the recording's axis.
func found(files map[string][]byte) (blocks []capture.Block, whole bool, err error) {
	name, since := "heron.pcapng", capture.Tick(0)
	for part := 1; ; part++ {
		data, ok := files[name]
		if !ok {
			return blocks, whole, nil
		}
		got, r, err := read(data)
		if err != nil && !pcapng.Torn(err) {
			return nil, false, fmt.Errorf("%s: %w", name, err)
		}
		whole = err == nil
		if part > 1 { // the wall time of the file's zero says where it begins
			since = capture.Tick(r.Info().Start.Sub(madeInfo.Start))
		}
		for _, b := range got {
			blocks = append(blocks, moved(b, since))
		}
		name = fmt.Sprintf("heron.%d.pcapng", part)
	}
}

func moved(b capture.Block, by capture.Tick) capture.Block {
	var c capture.Block
	b.CopyTo(&c)
	c.Start, c.End = c.Start+by, c.End+by
	if c.Gap.Present() {
		c.Gap.From, c.Gap.To = c.Gap.From+by, c.Gap.To+by
	}
	for i := range c.At {
		c.At[i] += by
	}
	for i := range c.SampleAt {
		c.SampleAt[i] += by
	}
	for i := range c.Octets {
		c.Octets[i].At += by
	}
	return c
}

var rotations = map[string]pcapng.WriteOptions{"one file": {}, "by size": {MaxBytes: 3000}, "by time": {MaxSpan: 150e6}}

// However much of what was not synced reaches the disk: all that was acknowledged is there, and nothing that was not written.
func TestCrash(t *testing.T) {
	t.Parallel()
	for name, opt := range rotations {
		for _, keep := range []float64{0, 0.1, 0.5, 1} {
			for seed := range uint64(40) {
				r := rand.New(rand.NewPCG(seed, 7))
				blocks := made(seed, 40)
				m := newMemFS()
				stop := 3 + r.IntN(60)
				m.fail = func(op int, what string) error {
					if op >= stop { // the power is off: nothing more happens
						return syscall.EIO
					}
					return nil
				}
				sure, closed, _ := session(m, blocks, opt, r)
				got, whole, err := found(m.crash(r, keep))
				if err != nil {
					t.Fatalf("%s, keeping %v, seed %d: %v", name, keep, seed, err)
				}
				if err := survivors(got, blocks, sure, len(blocks)); err != nil {
					t.Fatalf("%s, keeping %v, seed %d, %d sure: %v", name, keep, seed, sure, err)
				}
				if closed && !whole {
					t.Fatalf("%s, keeping %v, seed %d: closed, but torn", name, keep, seed)
				}
			}
		}
	}
}

// Whichever operation fails, once or for ever, wholly or after half of a write: it is told, and all acknowledged is there.
func TestEveryOperationFails(t *testing.T) {
	t.Parallel()
	blocks := made(3, 25)
	for name, opt := range rotations {
		sound := newMemFS()
		if _, closed, err := session(sound, blocks, opt, rand.New(rand.NewPCG(1, 1))); !closed {
			t.Fatal(err)
		}
		for n := 1; n <= sound.ops; n++ {
			for _, c := range []struct {
				err     error
				short   bool
				forever bool
			}{{syscall.EIO, false, false}, {syscall.ENOSPC, false, true}, {syscall.ENOSPC, true, false}, {syscall.ENOSPC, true, true}} {
				m := newMemFS()
				m.short = c.short
				failed := ""
				m.fail = func(op int, what string) error {
					if op == n || c.forever && op > n {
						if failed == "" {
							failed = what
						}
						return c.err
					}
					return nil
				}
				sure, closed, err := session(m, blocks, opt, rand.New(rand.NewPCG(1, 1)))
				want := c.err
				if c.short && failed == "write" {
					want = io.ErrShortWrite
				}
				if closed || !errors.Is(err, want) {
					t.Fatalf("%s: %s, operation %d, fails with %v: got %v", name, failed, n, c.err, err)
				}
				got, _, err := found(m.crash(rand.New(rand.NewPCG(2, 2)), 0))
				if err == nil {
					err = survivors(got, blocks, sure, len(blocks))
				}
				if err != nil {
					t.Fatalf("%s: %s, operation %d, fails with %v: %v", name, failed, n, c.err, err)
				}
			}
		}
	}
}

// A log that can't be begun leaves nothing behind.
func TestNothingBegun(t *testing.T) {
	t.Parallel()
	for n := 1; n <= 5; n++ {
		m := newMemFS()
		m.fail = func(op int, what string) error {
			if op == n {
				return syscall.ENOSPC
			}
			return nil
		}
		if _, err := pcapng.NewWriter(m, "heron.pcapng", madeInfo, pcapng.WriteOptions{}); !errors.Is(err, syscall.ENOSPC) {
			t.Errorf("operation %d: got %v", n, err)
		}
		if len(m.now) > 0 {
			t.Errorf("operation %d leaves %v", n, m.now)
		}
	}
}

// Every file of a rotated log stands alone: its own zero, its own wall time, its own end.
func TestRotation(t *testing.T) {
	t.Parallel()
	blocks := made(8, 60)
	for name, opt := range rotations {
		m := newMemFS()
		w, err := pcapng.NewWriter(m, "heron.pcapng", madeInfo, opt)
		check(t, err)
		for i := range blocks {
			check(t, w.Write(&blocks[i]))
		}
		check(t, w.Close())
		files := map[string][]byte{}
		for n, f := range m.now {
			files[n] = f.data
			if opt.MaxBytes > 0 && int64(len(f.data)) > opt.MaxBytes {
				t.Errorf("%s: %s has %d bytes", name, n, len(f.data))
			}
			got, r, err := read(f.data)
			check(t, err)
			if span := got[len(got)-1].Start - got[0].Start; opt.MaxSpan > 0 && span >= opt.MaxSpan {
				t.Errorf("%s: %s spans %d", name, n, span)
			}
			if n != "heron.pcapng" && got[0].Start != 0 {
				t.Errorf("%s: %s begins at %d", name, n, got[0].Start)
			}
			if len(r.Damage()) > 0 {
				t.Errorf("%s: %s: damage %+v", name, n, r.Damage())
			}
		}
		if names := w.Files(); len(names) != len(files) || (len(names) > 1) != (opt != pcapng.WriteOptions{}) {
			t.Errorf("%s: files %v", name, names)
		}
		got, whole, err := found(files)
		check(t, err)
		if err := same(got, blocks); err != nil || !whole {
			t.Errorf("%s: whole %v, %v", name, whole, err)
		}
	}
}

// A block that breaks the rules is refused and leaves the log as it was.
func TestRefusedBlock(t *testing.T) {
	t.Parallel()
	blocks := made(2, 4)
	var out strings.Builder
	w, err := pcapng.WriteTo(&out, madeInfo)
	check(t, err)
	for i := range blocks {
		check(t, w.Write(&blocks[i]))
		end := blocks[i].End
		for _, bad := range []capture.Block{
			{Start: end + 1, End: end + 2, First: blocks[i].Last()},
			{Start: end, End: end + 2, First: 1 + blocks[i].Last()%3},
			{Start: end, End: end - 1, First: blocks[i].Last()},
			{Start: end + 2, End: end + 3, Gap: capture.Gap{From: end - 1, To: end + 2, Count: -1, Why: capture.GapPaused}},
			{Start: end, End: end + 9, First: blocks[i].Last(), Transitions: capture.Transitions{At: []capture.Tick{end + 10}, To: []capture.Level{1 + blocks[i].Last()%3}}},
		} {
			if err := w.Write(&bad); err == nil {
				t.Errorf("taken: %+v", bad)
			}
		}
	}
	check(t, w.Close())
	if err := w.Write(&blocks[0]); err == nil {
		t.Error("written after Close")
	}
	got, _, err := read([]byte(out.String()))
	check(t, err)
	if err := same(got, blocks); err != nil {
		t.Error(err)
	}
}
