package decode_test

import (
	"bufio"
	"bytes"
	"flag"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"linewitness/capture"
	"linewitness/capture/capturetest"
	"linewitness/capture/file"
	"linewitness/capture/wav"
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
	make func() any // *uarttest.Wire or *capturetest.Loop
	want string     // cause/side
}{
	{"meadow-bus-sound.vcd", capture.Pair, func() any { return bus(1, busFault{}) }, "none/none"},
	{"meadow-bus-no-replies.csv", capture.Pair, func() any { return bus(2, busFault{silent: true}) }, "unknown/unknown"},
	{"meadow-bus-fast-clock.vcd", capture.Pair, func() any { return bus(3, busFault{clock: 1.045}) }, "clock-off/b"},
	{"meadow-bus-noise.vcd", capture.Pair, func() any { return bus(4, busFault{noise: true}) }, "unknown/unknown"},
	{"heron-loop-sound.csv", capture.LoopCurrent, func() any { return (&talk{seed: 5, polls: 60}).wire() }, "none/none"},
	{"heron-loop-wrong-sums.vcd", capture.LoopCurrent, func() any { return (&talk{seed: 6, polls: 60, wrongSum: 0.5}).wire() }, "bad-checksum/b"},
	{"alder-loop-sound.wav", capture.IndoorTerminal, func() any { return alder(capturetest.Loop{Place: 0.45}) }, "none/none"},
	{"alder-loop-supply-dips.wav", capture.IndoorTerminal, func() any { return alder(capturetest.Loop{Place: 0.45, Factor: dips}) }, "voltage-sag/line"},
	{"alder-loop-long-cable.wav", capture.IndoorTerminal, func() any { return alder(capturetest.Loop{Place: 0.45, Tau: 0.9e-3}) }, "excess-capacitance/line"},
	{"heron-loop-cooling.csv", capture.LoopCurrent, func() any { return oneWire("heron-loop", 2, heronCooling()) }, "none/none"},
	{"sorrel-loop-room.wav", capture.OutdoorTerminal, func() any { return sorrel() }, "none/none"},
	{"bracken-line-rooms.vcd", capture.Pair, func() any { return oneWire("bracken-line", 3, brackenRooms()) }, "none/none"},
	{"tarn-port-service.vcd", capture.BoardPin, func() any { return oneWire("tarn-port", 4, tarnService()) }, "none/none"},
	{"alder-loop-mains-on-s.wav", capture.IndoorTerminal, func() any { return onMains() }, "unknown/unknown"},
}

// alderFull is what the recorder of the Alder house takes for full scale, V.
const alderFull = 60

// alder is a loop of 24 V at 1200 Bd on which the indoor unit asks, as a recorder of 12,000 samples a second and 16 bits
// sees it at the indoor terminals, with a little ripple and hum.
func alder(l capturetest.Loop) *capturetest.Loop {
	k := &talk{seed: 11, polls: 30}
	l.Rate, l.Noise, l.Full, l.Bits, l.Seed = 12000, 0.06, alderFull, 16, 9
	l.Series = func(t float64) float64 { return 0.25 * math.Sin(2*math.Pi*50.02*t) }
	return k.inVolts(l)
}

// dips are those of a weak supply: six in twelve seconds, each down to a fortieth for a sixth of a second.
func dips(t float64) float64 {
	const every, first, width, back, low = 2.0, 1.36, 0.16, 0.1, 0.025
	x := math.Mod(t-first+every, every)
	switch {
	case t < first || x > width+4*back:
		return 1
	case x < width:
		return low + (1-low)*math.Exp(-x/0.008)
	}
	return 1 - (1-low)*math.Exp(-(x-width)/back)
}

// onMains is what stands on S where it was exchanged with L.
func onMains() *capturetest.Loop {
	return &capturetest.Loop{Rate: 12000, Seconds: 3, Supply: 1e-9, Noise: 0.5, Full: 600, Bits: 16, Seed: 3,
		Extra: func(t float64) float64 { return 325 * math.Sin(2*math.Pi*49.97*t+1) }}
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

// text is the recording as the file that its name asks for.
func text(t *testing.T, line any, name string) []byte {
	t.Helper()
	var b bytes.Buffer
	var err error
	switch w, ok := line.(*uarttest.Wire); {
	case !ok:
		err = writeWAV(&b, line.(*capturetest.Loop))
	case filepath.Ext(name) == ".vcd":
		err = w.WriteVCD(&b, "Birchmere training house, an invented scenario")
	default:
		writeCSV(&b, w)
	}
	if err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// writeWAV writes a loop with its sizes, which a stream cannot know before its end.
func writeWAV(out *bytes.Buffer, l *capturetest.Loop) error {
	f := &memory{}
	w, err := wav.NewWriter(f, wav.Format{Rate: int64(l.Rate), Bits: l.Bits, FullScale: l.Full})
	if err != nil {
		return err
	}
	if err := w.WriteBlock(l.Block()); err != nil {
		return err
	}
	err = w.Close()
	out.Write(f.b)
	return err
}

// memory is a file in memory.
type memory struct {
	b   []byte
	pos int64
}

func (m *memory) Write(p []byte) (int, error) {
	if n := m.pos + int64(len(p)) - int64(len(m.b)); n > 0 {
		m.b = append(m.b, make([]byte, n)...)
	}
	m.pos += int64(copy(m.b[m.pos:], p))
	return len(p), nil
}

func (m *memory) Seek(to int64, whence int) (int64, error) {
	switch whence {
	case io.SeekCurrent:
		to += m.pos
	case io.SeekEnd:
		to += int64(len(m.b))
	}
	m.pos = to
	return to, nil
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
			if !same(got, want) {
				t.Errorf("%s differs from its recipe; -update writes it anew", path)
			}
			src, err := file.Open(path, nil, file.Options{FullScale: full(s.name)})
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

// full is the full scale of a recording in volts.
func full(name string) float64 {
	switch {
	case filepath.Ext(name) != ".wav":
		return 0
	case name == "alder-loop-mains-on-s.wav":
		return 600
	}
	return alderFull
}

// same tells whether two files are: to the byte, and samples to one step, since processors round exponentials apart.
func same(a, b []byte) bool {
	data := bytes.Index(a, []byte("data")) + 8
	if !bytes.HasPrefix(a, []byte("RIFF")) || len(a) != len(b) || !bytes.Equal(a[:data], b[:data]) {
		return bytes.Equal(a, b)
	}
	for i := data; i+1 < len(a); i += 2 {
		x, y := int16(a[i])|int16(a[i+1])<<8, int16(b[i])|int16(b[i+1])<<8
		if x-y > 1 || y-x > 1 {
			return false
		}
	}
	return true
}
