package pcapng_test

import (
	"bytes"
	"testing"

	"linewitness/capture"
	"linewitness/capture/pcapng"
)

// counted counts what is read of a file.
type counted struct {
	*bytes.Reader
	n int64
}

func (c *counted) ReadAt(p []byte, at int64) (int, error) {
	n, err := c.Reader.ReadAt(p, at)
	c.n += int64(n)
	return n, err
}

func openAt(data []byte, from capture.Tick) ([]capture.Block, error) {
	r, err := pcapng.OpenAt(bytes.NewReader(data), int64(len(data)), "log", from)
	if err != nil {
		return nil, err
	}
	return drain(r)
}

// after are the blocks that end after an instant.
func after(blocks []capture.Block, from capture.Tick) []capture.Block {
	for i := range blocks {
		if blocks[i].End > from {
			return blocks[i:]
		}
	}
	return nil
}

// A log opens at any instant: with its index, without, and with damage before.
func TestOpenAt(t *testing.T) {
	t.Parallel()
	blocks := made(12, 300)
	log, borders := logged(t, madeInfo, blocks)
	for i := range blocks {
		for _, from := range []capture.Tick{blocks[i].Start - 1, blocks[i].Start, blocks[i].Start + 1, blocks[i].End - 1, blocks[i].End} {
			got, err := openAt(log, from)
			if err == nil {
				err = same(got, after(blocks, from))
			}
			if err != nil {
				t.Fatalf("at %d, block %d: %v", from, i, err)
			}
			torn := log[:borders[len(borders)-1]]
			got, err = openAt(torn, from)
			if e := same(got, after(blocks, from)); !pcapng.Torn(err) || e != nil {
				t.Fatalf("at %d, block %d, of a torn log: %v, %v", from, i, err, e)
			}
		}
	}
	data := bytes.Clone(log)
	data[borders[50]+80] ^= 4
	for _, k := range []int{0, 20, 49, 50, 51, 80} {
		got, err := openAt(data, blocks[k].Start)
		check(t, err)
		want := after(blocks, blocks[k].Start)
		if k == 50 {
			want = blocks[51:]
		}
		if k <= 50 {
			if err := survivors(got, want, max(0, 50-k), max(0, 50-k)+1); err != nil && k < 50 {
				t.Errorf("from block %d on: %v", k, err)
			}
			continue
		}
		if err := same(got, want); err != nil {
			t.Errorf("from block %d on: %v", k, err)
		}
	}
}

// long is a log of many blocks, told how many of them; the index is thinned.
func long(t testing.TB, n int) (log []byte, blocks int) {
	var out bytes.Buffer
	w, err := pcapng.WriteTo(&out, capture.Info{Clock: capture.Nanoseconds, Levels: true})
	check(t, err)
	b := capture.Block{First: capture.High}
	for i := range n {
		b.Start, b.End = capture.Tick(i)*250e6, capture.Tick(i+1)*250e6
		b.At, b.To = b.At[:0], b.To[:0]
		for k := range 40 {
			b.At = append(b.At, b.Start+capture.Tick(k)*1e6+capture.Tick((i*7919+k*104729)%1000))
			b.To = append(b.To, capture.Low+capture.Level(k%2)*2)
		}
		check(t, w.Write(&b))
	}
	check(t, w.Close())
	return out.Bytes(), n
}

// Of a long log little is read before the instant, with and without its index.
func TestOpenAtReadsLittle(t *testing.T) {
	t.Parallel()
	log, n := long(t, 40_000)
	cut := bytes.LastIndex(log, []byte("\x01\x06")) // kind of the index record
	for name, data := range map[string][]byte{"index": log, "no index": log[:cut-28]} {
		for _, k := range []int{0, 1, 4096, 17_001, n - 1} {
			in := &counted{Reader: bytes.NewReader(data)}
			r, err := pcapng.OpenAt(in, int64(len(data)), "log", capture.Tick(k)*250e6)
			check(t, err)
			var b capture.Block
			check(t, r.Next(&b))
			if b.Start != capture.Tick(k)*250e6 {
				t.Errorf("%s: block %d begins at %d", name, k, b.Start)
			}
			if most := int64(len(data)) / 2; in.n > most {
				t.Errorf("%s, block %d: read %d of %d bytes", name, k, in.n, len(data))
			}
			t.Logf("%s, block %d: read %d of %d bytes", name, k, in.n, len(data))
		}
	}
}
