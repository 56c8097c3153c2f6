package decode_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"reflect"
	"runtime"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"go.uber.org/goleak"

	"linewitness/capture"
	"linewitness/capture/pcapng"
	"linewitness/capture/vcd"
	"linewitness/decode"
	"linewitness/decode/checksum"
	"linewitness/decode/link"
	"linewitness/decode/uart"
	"linewitness/decode/uart/uarttest"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// talk is an invented dialogue: polls of 8 octets and replies of 6 with a sum, the replies after 20 ms, every 400 ms.
type talk struct {
	seed           uint64
	polls          int
	line           uart.Line
	bias           float64
	wrongSum       float64 // share of replies with a wrong sum
	silent         float64 // share of polls without a reply
	replySpeed     float64 // relative
	inverted       bool
	long           float64 // seconds from poll to poll; 0: 0.4
	missing, wrong int     // counted while sending
}

// wire is both on one line of two levels.
func (k *talk) wire() *uarttest.Wire {
	w := &uarttest.Wire{Clock: capture.Nanoseconds, High: k.inverted}
	k.on(w, w)
	return w
}

// on puts the dialogue on the line, or on a line for each.
func (k *talk) on(asks, answers *uarttest.Wire) {
	r := rand.New(rand.NewPCG(k.seed, 1))
	if k.line.Speed == 0 {
		k.line = uart.Line{Speed: 1200, Format: uart.Format{DataBits: 8, Parity: uart.ParityEven, StopHalfs: 2}}
	}
	sum, _ := checksum.Parse("sum8-twos-complement")
	spec := checksum.Spec{Sum: sum, From: 0, To: -1, At: -1}
	frame := func(n int, head byte) []byte {
		b := make([]byte, n)
		for i := range b {
			b[i] = byte(r.IntN(256))
		}
		b[0] = head
		spec.Put(b)
		return b
	}
	send := func(w *uarttest.Wire, s uarttest.Sender, b []byte) {
		v := make([]uint16, len(b))
		for i := range b {
			v[i] = uint16(b[i])
		}
		w.Send(s, v...)
		asks.Now, answers.Now = w.Now, w.Now
	}
	idle := func(s float64) { asks.Now, answers.Now = asks.Now+s, asks.Now+s }
	s := uarttest.Sender{Line: k.line, Bias: k.bias, Jitter: 0.01, Rand: r}
	reply := s
	if k.replySpeed != 0 {
		reply.Speed *= k.replySpeed
	}
	idle(0.2)
	for range k.polls {
		start := asks.Now
		send(asks, s, frame(8, 0xA0))
		if r.Float64() < k.silent {
			k.missing++
		} else {
			idle(0.02 + 0.002*r.Float64())
			b := frame(6, 0x50)
			if r.Float64() < k.wrongSum {
				b[5] ^= 0x11
				k.wrong++
			}
			send(answers, reply, b)
		}
		asks.Now, answers.Now = start+max(k.long, 0.4), start+max(k.long, 0.4)
	}
}

// exported lets cmp look into the checksum's own types.
var exported = cmp.Exporter(func(reflect.Type) bool { return true })

func find(t *testing.T, src capture.Source, opt decode.Options) *decode.Finding {
	t.Helper()
	f, err := decode.Run(t.Context(), src, nil, opt)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func TestExamineLearnsAndJudges(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name string
		talk talk
		tap  capture.Tap
		want string
	}{
		{"sound", talk{polls: 200}, capture.Pair, "none/none"},
		{"sound, the other way round", talk{polls: 200, inverted: true}, capture.BoardPin, "none/none"},
		{"all replies with wrong sums, or with another one", talk{polls: 200, wrongSum: 1}, capture.Pair, "unknown/unknown"},
		{"some replies with wrong sums", talk{polls: 300, wrongSum: 0.3}, capture.Pair, "bad-checksum/b"},
		{"some polls unanswered", talk{polls: 200, silent: 0.3}, capture.Pair, "unknown/unknown"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			k := c.talk
			k.seed = 42
			w := k.wire()
			f := find(t, w.Source(4096), decode.Options{Tap: c.tap})
			if f.Link == nil || f.Link.Line.Speed != 1200 || f.Link.Line.Format.String() != "8E1" || f.Link.Line.Inverted != k.inverted {
				t.Fatalf("link %+v", f.Link)
			}
			if f.Link.Checksum == nil || f.Link.Checksum.Sum.String() != "sum8-twos-complement" {
				t.Fatalf("checksum %+v", f.Link.Checksum)
			}
			if len(f.Senders) != 2 || f.Senders[0].Frames != int64(k.polls) || f.Senders[1].Frames != int64(k.polls-k.missing) || f.Senders[1].Bad.Checksum != int64(k.wrong) {
				t.Errorf("senders %+v; sent %d polls, left out %d replies, %d wrong", f.Senders, k.polls, k.missing, k.wrong)
			}
			if got := f.Verdict.String(); got != c.want {
				t.Errorf("got %s, want %s: %s", got, c.want, f.Verdict.Summary)
			}
			if p50 := f.Senders[1].TurnP50; p50 < 0.0200 || p50 > 0.0225 {
				t.Errorf("turn-around p50 %g s, sent with 20 to 22 ms", p50)
			}
			for _, s := range f.Senders {
				if s.Frames > 20 && math.Abs(s.SpeedErrorPPM) > max(3*s.SpeedPM, 20) {
					t.Errorf("%s: clock %+.1f +- %.1f ppm, sent with 0", s.Side, s.SpeedErrorPPM, s.SpeedPM)
				}
			}
		})
	}
}

// A sender 4 % fast is found, and the other one is cleared.
func TestExamineFindsClockOff(t *testing.T) {
	t.Parallel()
	k := talk{polls: 200, replySpeed: 1.04, seed: 7}
	f := find(t, k.wire().Source(4096), decode.Options{Tap: capture.Pair})
	if got := f.Verdict.String(); got != "clock-off/b" && got != "speed-mismatch/line" {
		t.Errorf("got %s: %s; senders %+v", got, f.Verdict.Summary, f.Senders)
	}
	diff := f.Senders[1].SpeedErrorPPM - f.Senders[0].SpeedErrorPPM
	if math.Abs(diff-40000) > 500 {
		t.Errorf("clocks differ by %.0f ppm, sent with 40000", diff)
	}
}

// One core or eight, blocks of 1 or 7 or 4096: the same finding and the same frames.
func TestCoresAndBlocksDoNotMatter(t *testing.T) {
	t.Parallel()
	k := talk{polls: 150, seed: 3, wrongSum: 0.1, silent: 0.1}
	w := k.wire()
	var want *decode.Finding
	var wantFrames []string
	for _, workers := range []int{1, 2, 8} {
		for _, size := range []int{1, 7, 4096} {
			var frames []string
			got := find(t, w.Source(size), decode.Options{Tap: capture.Pair, Workers: workers, Frames: func(f *link.Frame) {
				frames = append(frames, fmt.Sprintf("%d %d %s %x %v", f.At, f.End, f.Side, f.Values, f.Why.Names()))
			}})
			if want == nil {
				want, wantFrames = got, frames
				continue
			}
			if d := cmp.Diff(want, got, cmpopts.EquateNaNs(), exported); d != "" {
				t.Errorf("%d workers, blocks of %d (-want +got):\n%.3000s", workers, size, d)
			}
			if d := cmp.Diff(wantFrames, frames); d != "" {
				t.Errorf("%d workers, blocks of %d: frames (-want +got):\n%.3000s", workers, size, d)
			}
		}
	}
}

// A finding can be read at any time and does not disturb what follows.
func TestFindingAtAnyTime(t *testing.T) {
	t.Parallel()
	k := talk{polls: 300, seed: 5}
	w := k.wire()
	e := decode.New(w.Info(), nil, decode.Options{Tap: capture.Pair, Workers: 2})
	defer e.Close()
	src := w.Source(100)
	var b capture.Block
	last := int64(0)
	for n := 0; ; n++ {
		err := src.Next(&b)
		if errors.Is(err, io.EOF) {
			break
		}
		if err := e.Add(&b); err != nil {
			t.Fatal(err)
		}
		if n%20 == 0 {
			f := e.Finding()
			total := int64(0)
			for _, s := range f.Senders {
				total += s.Frames
			}
			if total < last {
				t.Fatalf("frames fell from %d to %d", last, total)
			}
			last = total
		}
	}
	if err := e.Flush(); err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(find(t, w.Source(4096), decode.Options{Tap: capture.Pair}), e.Finding(), cmpopts.EquateNaNs(), exported); d != "" {
		t.Errorf("(-straight +interrupted):\n%.3000s", d)
	}
}

// Silence, one transition, noise: no link, no verdict, no error.
func TestNothingToRead(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(1, 9))
	for name, n := range map[string]int{"silent": 0, "one transition": 1, "noise": 5000} {
		w := &uarttest.Wire{Clock: capture.Nanoseconds}
		mark := false
		for range n {
			w.Idle(math.Exp(r.NormFloat64()*3) * 1e-3)
			w.Set(w.Now, mark)
			mark = !mark
		}
		w.Idle(1)
		f := find(t, w.Source(64), decode.Options{})
		if !f.Verdict.Undetermined {
			t.Errorf("%s: %s", name, f.Verdict.Summary)
		}
	}
}

func TestRunGivesWhatWasDoneOnInterrupt(t *testing.T) {
	t.Parallel()
	k := talk{polls: 100, seed: 5}
	ctx, cancel := context.WithCancel(t.Context())
	src := &stopping{Source: k.wire().Source(50), after: 20, stop: cancel}
	f, err := decode.Run(ctx, src, nil, decode.Options{Tap: capture.Pair})
	if !errors.Is(err, context.Canceled) || f == nil || f.Senders[0].Frames == 0 {
		t.Fatalf("got %v, %v", f, err)
	}
}

type stopping struct {
	capture.Source
	after int
	stop  func()
}

func (s *stopping) Next(b *capture.Block) error {
	if s.after--; s.after == 0 {
		s.stop()
	}
	return s.Source.Next(b)
}

// repeated gives a VCD body over and over with rising times, without holding it.
type repeated struct {
	head    string
	times   []int64
	levels  []byte
	period  int64
	round   int64
	rounds  int64
	pending []byte
	at      int
}

func (r *repeated) Read(p []byte) (int, error) {
	n := 0
	for n < len(p) {
		if len(r.pending) == 0 {
			if r.head != "" {
				r.pending = append(r.pending[:0], r.head...)
				r.head = ""
			} else {
				if r.round == r.rounds {
					return n, eof(n)
				}
				r.pending = fmt.Appendf(r.pending[:0], "#%d\n%c!\n", r.round*r.period+r.times[r.at], r.levels[r.at])
				if r.at++; r.at == len(r.times) {
					r.at = 0
					r.round++
				}
			}
		}
		k := copy(p[n:], r.pending)
		r.pending = r.pending[k:]
		n += k
	}
	return n, nil
}

func eof(n int) error {
	if n > 0 {
		return nil
	}
	return io.EOF
}

// long is a VCD of so many exchanges repeated.
func long(rounds int64) *repeated {
	k := talk{polls: 50, seed: 11}
	w := k.wire()
	b := w.Block()
	r := &repeated{head: "$timescale 1 ns $end $scope module a $end $var wire 1 ! s $end $upscope $end $enddefinitions $end\n#0\n1!\n",
		period: int64(b.End), rounds: rounds}
	for i, t := range b.At {
		r.times = append(r.times, int64(t))
		r.levels = append(r.levels, map[capture.Level]byte{capture.Low: '0', capture.High: '1'}[b.To[i]])
	}
	return r
}

// A recording a hundred times as long needs the same memory.
func TestConstantMemory(t *testing.T) {
	peak := func(rounds int64) (heap uint64, frames int64) {
		src, err := vcd.Open(long(rounds), "long.vcd", vcd.Options{})
		if err != nil {
			t.Fatal(err)
		}
		runtime.GC()
		n := 0
		f, err := decode.Run(t.Context(), &watching{Source: src, each: func() {
			if n++; n%50 == 0 {
				var m runtime.MemStats
				runtime.ReadMemStats(&m)
				heap = max(heap, m.HeapInuse)
			}
		}}, nil, decode.Options{Tap: capture.Pair})
		if err != nil {
			t.Fatal(err)
		}
		return heap, f.Senders[0].Frames
	}
	rounds := int64(20)
	if raceEnabled {
		rounds = 4
	}
	short, n := peak(5 * rounds)
	longer, m := peak(100 * rounds)
	if m != 20*n {
		t.Errorf("%d frames, want 20 times %d", m, n)
	}
	if longer > 2*short+32<<20 {
		t.Errorf("peak heap %d for the long recording, %d for the short one", longer, short)
	}
}

type watching struct {
	capture.Source
	each func()
}

func (w *watching) Next(b *capture.Block) error {
	w.each()
	return w.Source.Next(b)
}

// FuzzExamine: any transitions give a finding whose probabilities sum to 1, whatever the cores.
func FuzzExamine(f *testing.F) {
	k := talk{polls: 12, seed: 2}
	var widths []byte
	b := k.wire().Block()
	for i := 1; i < len(b.At); i++ {
		widths = append(widths, byte(min(255, (b.At[i]-b.At[i-1])/833333)))
	}
	f.Add(widths, uint8(1))
	f.Add([]byte{1, 2, 3}, uint8(2))
	f.Fuzz(func(t *testing.T, widths []byte, tap uint8) {
		if len(widths) > 2000 {
			widths = widths[:2000]
		}
		w := &uarttest.Wire{Clock: capture.Nanoseconds}
		mark := false
		for _, v := range widths {
			w.Idle(float64(v)*833333e-9 + 1e-6)
			w.Set(w.Now, mark)
			mark = !mark
		}
		got, err := decode.Run(context.Background(), w.Source(64), nil, decode.Options{Tap: capture.Tap(tap % 6), Workers: 1 + int(tap%3)})
		if err != nil {
			t.Fatal(err)
		}
		sum := 0.0
		for _, c := range got.Candidates {
			sum += c.Probability
		}
		if math.Abs(sum-1) > 1e-6 || got.Verdict.Summary == "" {
			t.Fatalf("sum %v, summary %q", sum, got.Verdict.Summary)
		}
		if math.IsNaN(sum) {
			t.Fatal("NaN")
		}
	})
}

// go test -run '^$' -bench Examine -benchmem ./decode
func BenchmarkExamine(b *testing.B) {
	var text, log bytes.Buffer
	if _, err := io.Copy(&text, long(1000)); err != nil {
		b.Fatal(err)
	}
	if err := toLog(&log, text.Bytes()); err != nil {
		b.Fatal(err)
	}
	for _, c := range []struct {
		from string
		data []byte
		open func(io.Reader) (capture.Source, error)
	}{
		{"vcd", text.Bytes(), func(r io.Reader) (capture.Source, error) { return vcd.Open(r, "bench.vcd", vcd.Options{}) }},
		{"log", log.Bytes(), func(r io.Reader) (capture.Source, error) { return pcapng.Open(r, "bench.pcapng", pcapng.Options{}) }},
	} {
		for _, workers := range []int{1, 2} {
			b.Run(fmt.Sprintf("from=%s/workers=%d", c.from, workers), func(b *testing.B) {
				b.SetBytes(int64(len(c.data)))
				b.ReportAllocs()
				var n int64
				for b.Loop() {
					src, err := c.open(bytes.NewReader(c.data))
					if err != nil {
						b.Fatal(err)
					}
					f, err := decode.Run(b.Context(), src, nil, decode.Options{Tap: capture.Pair, Workers: workers})
					if err != nil {
						b.Fatal(err)
					}
					n = f.Recording.Transitions
				}
				b.ReportMetric(float64(n)*float64(b.N)/b.Elapsed().Seconds()/1e6, "Mtransitions/s")
				b.ReportMetric(float64(len(c.data))/float64(n), "bytes/transition")
			})
		}
	}
}

// toLog writes a VCD as a log.
func toLog(out io.Writer, text []byte) error {
	src, err := vcd.Open(bytes.NewReader(text), "bench.vcd", vcd.Options{})
	if err != nil {
		return err
	}
	w, err := pcapng.WriteTo(out, src.Info())
	var b capture.Block
	for err == nil {
		if err = src.Next(&b); err == nil {
			err = w.Write(&b)
		}
	}
	if !errors.Is(err, io.EOF) {
		return err
	}
	return w.Close()
}
