package decode_test

import (
	"bufio"
	"bytes"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"linewitness/capture"
	"linewitness/capture/file"
	"linewitness/decode"
	"linewitness/decode/checksum"
	"linewitness/decode/link"
	"linewitness/decode/uart"
	"linewitness/decode/uart/uarttest"
)

var update = flag.Bool("update", false, "write the shipped recordings anew")

// shipped are the recordings in fixtures/recordings, each made here from a seed: a scenario of the project's own, with
// invented makes and invented traffic.
var shipped = []struct {
	name string
	tap  capture.Tap
	make func() *uarttest.Wire
	want string // cause/side
}{
	{"meadow-bus-sound.vcd", capture.Pair, func() *uarttest.Wire { return bus(1, busFault{}) }, "none/none"},
	{"meadow-bus-no-replies.csv", capture.Pair, func() *uarttest.Wire { return bus(2, busFault{silent: true}) }, "unknown/unknown"},
	{"meadow-bus-fast-clock.vcd", capture.Pair, func() *uarttest.Wire { return bus(3, busFault{clock: 1.045}) }, "clock-off/b"},
	{"meadow-bus-noise.vcd", capture.Pair, func() *uarttest.Wire { return bus(4, busFault{noise: true}) }, "unknown/unknown"},
	{"heron-loop-sound.csv", capture.LoopCurrent, func() *uarttest.Wire { return (&talk{seed: 5, polls: 60}).wire() }, "none/none"},
	{"heron-loop-wrong-sums.vcd", capture.LoopCurrent, func() *uarttest.Wire { return (&talk{seed: 6, polls: 60, wrongSum: 0.5}).wire() }, "bad-checksum/b"},
}

// busFault is what ails the bus.
type busFault struct {
	silent, noise bool
	clock         float64 // of the responder, relative
}

// bus is Modbus RTU at 9600 Bd, 8E1: two polls in turn every 250 ms, replies after 6 to 9 ms.
func bus(seed uint64, fault busFault) *uarttest.Wire {
	r := rand.New(rand.NewPCG(seed, 77))
	l := uart.Line{Speed: 9600, Format: uart.Format{DataBits: 8, Parity: uart.ParityEven, StopHalfs: 2}}
	p := link.ModbusRTU(l)
	w := &uarttest.Wire{Clock: capture.Nanoseconds}
	s := uarttest.Sender{Line: l, Bias: 0.02, Jitter: 0.005, Rand: r}
	reply := s
	reply.Bias = -0.01
	if fault.clock != 0 {
		reply.Speed *= fault.clock
	}
	w.Idle(0.1)
	for n := range 100 {
		start := w.Now
		at := byte(n % 2 * 16)
		w.Send(s, framed(p.Checksum, 0x0B, 0x03, 0x00, at, 0x00, 0x02, 0, 0)...)
		if !fault.silent {
			w.Idle(0.006 + 0.003*r.Float64())
			w.Send(reply, framed(p.Checksum, 0x0B, 0x03, 0x04, 0x00, byte(180+r.IntN(20)), 0x00, byte(r.IntN(256)), 0, 0)...)
		}
		w.Now = start + 0.25
	}
	w.Idle(1)
	if fault.noise {
		disturb(w, r)
	}
	return w
}

// framed puts the checksum into a frame.
func framed(c *checksum.Spec, b ...byte) []uint16 {
	c.Put(b)
	v := make([]uint16, len(b))
	for i := range b {
		v[i] = uint16(b[i])
	}
	return v
}

// disturb puts bursts of noise on one frame in six or so: pulses of a tenth of a bit to a whole one.
func disturb(w *uarttest.Wire, r *rand.Rand) {
	for t := 0.35; t < w.Now-2; t += 0.25 * float64(1+r.IntN(5)) {
		w.Disturb(t+0.1e-3+0.02*r.Float64(), 4+r.IntN(8), func() float64 { return 1e-5 + 1e-4*r.Float64() })
	}
}

// text is the wire as the file that its name asks for.
func text(t *testing.T, w *uarttest.Wire, name string) []byte {
	t.Helper()
	var b bytes.Buffer
	if filepath.Ext(name) == ".vcd" {
		if err := w.WriteVCD(&b, "Birchmere training house, an invented scenario"); err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}
	writeCSV(&b, w)
	return b.Bytes()
}

func writeCSV(out io.Writer, w *uarttest.Wire) {
	b := bufio.NewWriter(out)
	defer b.Flush()
	blk := w.Block()
	digit := map[capture.Level]int{capture.Low: 0, capture.High: 1}
	row := func(t capture.Tick, l capture.Level) {
		fmt.Fprintf(b, "%d.%09d,%d\r\n", t/1e9, t%1e9, digit[l])
	}
	fmt.Fprint(b, "time_s,level\r\n")
	row(blk.Start, blk.First)
	for i := range blk.At {
		row(blk.At[i], blk.To[i])
	}
	row(blk.End, blk.Last())
}

// The shipped recordings are what their recipes make, and are judged as their names say.
func TestShippedRecordings(t *testing.T) {
	t.Parallel()
	for _, s := range shipped {
		t.Run(s.name, func(t *testing.T) {
			t.Parallel()
			path := filepath.Join("..", "fixtures", "recordings", s.name)
			want := text(t, s.make(), s.name)
			if *update {
				if err := os.WriteFile(path, want, 0o644); err != nil {
					t.Fatal(err)
				}
			}
			got, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			if !bytes.Equal(got, want) {
				t.Errorf("%s differs from its recipe; -update writes it anew", path)
			}
			src, err := file.Open(path, nil, file.Options{})
			if err != nil {
				t.Fatal(err)
			}
			defer src.Close()
			f := find(t, src, decode.Options{Tap: s.tap})
			if v := f.Verdict.String(); v != s.want {
				t.Errorf("got %s, want %s: %s", v, s.want, f.Verdict.Summary)
			}
		})
	}
}
