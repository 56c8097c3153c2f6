package pcapng_test

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"linewitness/capture"
	"linewitness/capture/capturetest"
	"linewitness/capture/pcapng"
)

// made is a recording of a few sorts of blocks in a row, which follow each other as they must.
func made(seed uint64, n int) (blocks []capture.Block) {
	r := rand.New(rand.NewPCG(seed, 3))
	at, level := capture.Tick(0), capture.High
	for i := range n {
		b := capture.Block{Start: at, First: level}
		if i > 0 && r.IntN(5) == 0 {
			b.Start += 1 + capture.Tick(r.IntN(1e6))
			b.Gap = capture.Gap{From: at, To: b.Start, Count: int64(r.IntN(3)) - 1, Why: capture.GapOverflow}
			b.First = capture.Level(1 + r.IntN(3))
		}
		b.End = b.Start + 1 + capture.Tick(r.IntN(50e6))
		fill(r, &b)
		at, level = b.End, b.Last()
		blocks = append(blocks, b)
	}
	return blocks
}

// fill puts a few transitions, samples and octets into b.
func fill(r *rand.Rand, b *capture.Block) {
	level, span := b.First, int(b.End-b.Start)
	for t := b.Start + capture.Tick(r.IntN(span+1)); t <= b.End && len(b.At) < 8; t += 1 + capture.Tick(r.IntN(span/4+1)) {
		level = 1 + (level+capture.Level(r.IntN(2)))%3
		b.At, b.To = append(b.At, t), append(b.To, level)
	}
	if r.IntN(3) == 0 {
		for range b.At {
			b.Doubt = append(b.Doubt, capture.Tick(r.IntN(300)))
		}
	}
	for i := range r.IntN(3) * 4 {
		if t := b.Start + capture.Tick(i*span/9); i == 0 || t > b.SampleAt[i-1] {
			b.SampleAt, b.Volts = append(b.SampleAt, t), append(b.Volts, float64(r.IntN(4096))/64)
		} else {
			break
		}
	}
	for range r.IntN(3) {
		b.Octets = append(b.Octets, capture.Octet{At: b.Start + capture.Tick(r.IntN(span+1)), Value: uint16(r.IntN(256)), Side: capture.SideA})
	}
}

var madeInfo = capture.Info{Name: "heron", Format: "probe", Clock: capture.Nanoseconds, Levels: true, Volts: true, Tap: capture.IndoorTerminal,
	Start: time.Date(2026, 3, 1, 12, 0, 0, 5, time.UTC), FullScale: 64}

// logged writes blocks as one log; borders are the offsets behind its head and behind each block.
func logged(t testing.TB, info capture.Info, blocks []capture.Block) (log []byte, borders []int) {
	t.Helper()
	var out bytes.Buffer
	w, err := pcapng.WriteTo(&out, info)
	check(t, err)
	check(t, w.Sync())
	borders = append(borders, out.Len())
	for i := range blocks {
		check(t, w.Write(&blocks[i]))
		check(t, w.Sync())
		borders = append(borders, out.Len())
	}
	check(t, w.Close())
	return out.Bytes(), borders
}

func check(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// read reads a log to its end or first error; every block must keep the rules.
func read(data []byte) (blocks []capture.Block, r *pcapng.Reader, err error) {
	if r, err = pcapng.Open(bytes.NewReader(data), "log", pcapng.Options{}); err != nil {
		return nil, nil, err
	}
	blocks, err = drain(r)
	return blocks, r, err
}

func drain(s capture.Source) (blocks []capture.Block, err error) {
	var b capture.Block
	for {
		if err := s.Next(&b); err != nil {
			if again := s.Next(&b); again != err {
				return blocks, fmt.Errorf("error %v was not kept: %v", err, again)
			}
			if errors.Is(err, io.EOF) {
				err = nil
			}
			return blocks, err
		}
		var c capture.Block
		b.CopyTo(&c)
		var prev *capture.Block
		if len(blocks) > 0 {
			prev = &blocks[len(blocks)-1]
		}
		if err := capturetest.Check(prev, &c); err != nil {
			return blocks, &capturetest.BrokenRule{Err: fmt.Errorf("block %d: %w", len(blocks), err)}
		}
		blocks = append(blocks, c)
	}
}

// equal tells whether two blocks are the same but for what gap stands before them.
func equal(a, b *capture.Block) bool {
	return a.Start == b.Start && a.End == b.End && a.First == b.First && slices.Equal(a.At, b.At) && slices.Equal(a.To, b.To) &&
		slices.Equal(a.Doubt, b.Doubt) && slices.Equal(a.SampleAt, b.SampleAt) && slices.Equal(a.Volts, b.Volts) && slices.Equal(a.Octets, b.Octets)
}

func same(got, want []capture.Block) error {
	if len(got) != len(want) {
		return fmt.Errorf("%d blocks, want %d", len(got), len(want))
	}
	for i := range got {
		if !equal(&got[i], &want[i]) || got[i].Gap != want[i].Gap {
			return fmt.Errorf("block %d\ngot  %+v\nwant %+v", i, got[i], want[i])
		}
	}
	return nil
}
