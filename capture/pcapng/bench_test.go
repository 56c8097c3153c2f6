package pcapng_test

import (
	"bytes"
	"io"
	"math/rand/v2"
	"testing"

	"linewitness/capture"
	"linewitness/capture/pcapng"
)

// traffic is ordinary talk: 9600 Bd, characters of random content, edges off by 0.2 % of a bit, blocks of a quarter second.
func traffic(blocks int) []capture.Block {
	const bit = 104167
	r := rand.New(rand.NewPCG(6, 6))
	all := make([]capture.Block, blocks)
	next, level := capture.Tick(1e6), capture.High
	for i := range all {
		b := &all[i]
		b.Start, b.End, b.First = capture.Tick(i)*250e6, capture.Tick(i+1)*250e6, level
		for next < b.End {
			level = capture.Low + capture.High - level
			b.At, b.To = append(b.At, next+capture.Tick(r.NormFloat64()*0.002*bit)), append(b.To, level)
			units := 1 + capture.Tick(r.ExpFloat64()/0.7)
			if level == capture.High && r.IntN(60) == 0 {
				units += 150 // between frames
			}
			next += min(units, 400) * bit
		}
	}
	return all
}

var benchInfo = capture.Info{Clock: capture.Nanoseconds, Levels: true}

func transitions(blocks []capture.Block) (n int) {
	for i := range blocks {
		n += len(blocks[i].At)
	}
	return n
}

func BenchmarkWrite(b *testing.B) {
	blocks := traffic(400)
	n := transitions(blocks)
	size := 0
	for b.Loop() {
		var out bytes.Buffer
		w, err := pcapng.WriteTo(&out, benchInfo)
		check(b, err)
		for i := range blocks {
			check(b, w.Write(&blocks[i]))
		}
		check(b, w.Close())
		size = out.Len()
	}
	b.ReportMetric(float64(n)*float64(b.N)/b.Elapsed().Seconds()/1e6, "Mtransitions/s")
	b.ReportMetric(float64(size)/float64(n), "bytes/transition")
}

func BenchmarkRead(b *testing.B) {
	blocks := traffic(400)
	log, _ := logged(b, benchInfo, blocks)
	b.SetBytes(int64(len(log)))
	for b.Loop() {
		r, err := pcapng.Open(bytes.NewReader(log), "log", pcapng.Options{})
		check(b, err)
		var blk capture.Block
		for err = r.Next(&blk); err == nil; err = r.Next(&blk) {
		}
		if err != io.EOF {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(transitions(blocks))*float64(b.N)/b.Elapsed().Seconds()/1e6, "Mtransitions/s")
}

// Once under way, reading takes no memory for a block, and writing next to none.
func TestNoMemoryABlock(t *testing.T) {
	blocks := traffic(200)
	w, err := pcapng.WriteTo(io.Discard, benchInfo)
	check(t, err)
	next := 0
	write := func() {
		check(t, w.Write(&blocks[next]))
		next++
	}
	for range 50 {
		write()
	}
	if got := testing.AllocsPerRun(100, write); got > 1 { // a header on its way through the codec's callback
		t.Errorf("%v allocations a block written", got)
	}
	log, _ := logged(t, benchInfo, blocks)
	r, err := pcapng.Open(bytes.NewReader(log), "log", pcapng.Options{})
	check(t, err)
	var b capture.Block
	read := func() { check(t, r.Next(&b)) }
	for range 50 {
		read()
	}
	if got := testing.AllocsPerRun(100, read); got > 0 {
		t.Errorf("%v allocations a block read", got)
	}
}
