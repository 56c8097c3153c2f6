package pcapng_test

import (
	"bytes"
	"encoding/binary"
	"math"
	"runtime"
	"testing"

	"linewitness/capture/capturetest"
	"linewitness/capture/pcapng"
)

// hostile are files made to harm: every field of every kind of block at 0, 1, its neighbours and its most, in a small log
// and in files of few bytes that are known to bring down readers that trust lengths.
func hostile(t testing.TB) [][]byte {
	log, borders := logged(t, madeInfo, made(2, 2))
	all := [][]byte{log, nil, log[:28], log[:borders[0]]}
	for at := 0; at+4 <= len(log); at += 4 {
		for _, v := range []uint32{0, 1, 3, 12, 28, 32, uint32(len(log)), 8 << 20, math.MaxInt32, math.MaxInt32 + 1, math.MaxUint32 - 3, math.MaxUint32} {
			data := bytes.Clone(log)
			binary.LittleEndian.PutUint32(data[at:], v)
			all = append(all, data)
		}
	}
	block := func(order binary.AppendByteOrder, kind uint32, body ...byte) (b []byte) {
		n := uint32(12 + len(body))
		b = order.AppendUint32(order.AppendUint32(b, kind), n)
		return order.AppendUint32(append(b, body...), n)
	}
	for _, order := range []binary.AppendByteOrder{binary.LittleEndian, binary.BigEndian} {
		section := block(order, 0x0A0D0D0A, append(order.AppendUint32(nil, 0x1A2B3C4D), make([]byte, 12)...)...)
		option := func(code, n uint16, value ...byte) []byte {
			return append(order.AppendUint16(order.AppendUint16(nil, code), n), value...)
		}
		for _, o := range [][]byte{option(9, 1, 0x40, 0, 0, 0), option(9, 1, 0xC0, 0, 0, 0), option(9, 0), option(11, 0), option(14, 1, 1, 0, 0, 0), option(1, 65535), option(9, 1, 255, 0, 0, 0)} {
			face := block(order, 1, append([]byte{147, 0, 0, 0, 0, 0, 0, 0}, o...)...)
			packet := block(order, 6, append(order.AppendUint32(make([]byte, 12), 1<<30), make([]byte, 60)...)...)
			all = append(all, bytes.Join([][]byte{section, face, packet}, nil), bytes.Join([][]byte{section, face}, nil), append(section, packet...))
		}
	}
	return all
}

// readAll reads a file as a log and keeps nothing.
func readAll(data []byte) error {
	r, err := pcapng.Open(bytes.NewReader(data), "log", pcapng.Options{})
	if err != nil {
		return err
	}
	_, err = capturetest.Collect(r)
	if broken, ok := err.(*capturetest.BrokenRule); ok {
		panic(broken)
	}
	return err
}

// allocated is how much memory f asks for.
func allocated(f func()) uint64 {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	f()
	runtime.ReadMemStats(&after)
	return after.TotalAlloc - before.TotalAlloc
}

// mostAllocated is what a file of n bytes may ask for.
func mostAllocated(n int) uint64 { return 16*uint64(n) + 1<<20 }

// No field makes a reader fall, run off or take memory that the file does not have. Not parallel: it counts memory.
func TestHostile(t *testing.T) {
	for i, data := range hostile(t) {
		if got := allocated(func() { _ = readAll(data) }); got > mostAllocated(len(data)) {
			t.Errorf("file %d of %d bytes: %d bytes allocated\n%x", i, len(data), got, data[:min(len(data), 200)])
		}
		if got := allocated(func() { _, _ = openAt(data, 1000) }); got > mostAllocated(len(data)) {
			t.Errorf("file %d of %d bytes: %d bytes allocated at an instant", i, len(data), got)
		}
	}
}

// A file of packets within packets costs no more than so many looks at each byte.
func TestSearchIsBounded(t *testing.T) {
	t.Parallel()
	log, borders := logged(t, madeInfo, made(2, 2))
	const n = 4 << 20
	data := append(bytes.Clone(log[:borders[0]]), 1, 2, 3, 4)
	for len(data) < n { // heads of packets that claim all that follows
		data = binary.LittleEndian.AppendUint32(data, 6)
		data = binary.LittleEndian.AppendUint32(data, uint32(n-len(data)+4)&^3)
	}
	if err := readAll(data); !pcapng.Torn(err) {
		t.Errorf("got %v", err)
	}
}

func FuzzOpen(f *testing.F) {
	for i, data := range hostile(f) {
		if i%50 < 2 {
			f.Add(data)
		}
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		if got := allocated(func() { _ = readAll(data) }); got > mostAllocated(len(data)) {
			t.Errorf("%d bytes: %d bytes allocated", len(data), got)
		}
		_, _ = openAt(data, 1e6)
	})
}
