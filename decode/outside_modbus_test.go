package decode_test

import (
	"bufio"
	"bytes"
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"linewitness/capture"
	"linewitness/decode"
	"linewitness/decode/cause"
	"linewitness/decode/link"
	"linewitness/decode/uart"
	"linewitness/decode/uart/uarttest"
)

// unit is the Modbus address of the server.
const unit = 17

// exchange is a request and its reply, as two independent peers sent them, and the time between their first bytes.
type exchange struct {
	request, reply []byte
	took           time.Duration
}

// chunk is what came from one peer at a time.
type chunk struct {
	at     time.Time
	client bool
	bytes  []byte
}

// relay passes bytes between two pseudo-terminals and logs them.
type relay struct {
	client, server *os.File
	done           sync.WaitGroup
	mu             sync.Mutex
	log            []chunk
}

// newRelay begins to pass bytes on. Close ends it.
func newRelay(client, server string) (*relay, error) {
	r := &relay{}
	var err error
	if r.client, err = os.OpenFile(client, os.O_RDWR|syscall.O_NOCTTY, 0); err != nil {
		return nil, err
	}
	if r.server, err = os.OpenFile(server, os.O_RDWR|syscall.O_NOCTTY, 0); err != nil {
		return nil, errors.Join(err, r.client.Close())
	}
	r.done.Add(2)
	go r.pass(r.server, r.client, true)
	go r.pass(r.client, r.server, false)
	return r, nil
}

func (r *relay) pass(to, from *os.File, client bool) {
	defer r.done.Done()
	var buf [512]byte
	for {
		n, err := from.Read(buf[:])
		if n > 0 {
			r.mu.Lock()
			r.log = append(r.log, chunk{time.Now(), client, bytes.Clone(buf[:n])})
			r.mu.Unlock()
			if _, err := to.Write(buf[:n]); err != nil {
				return
			}
		}
		if err != nil {
			return
		}
	}
}

// Close ends the relay and waits for it.
func (r *relay) Close() error {
	err := errors.Join(r.client.Close(), r.server.Close())
	r.done.Wait()
	return err
}

// exchanges puts the log together: a run of bytes in one direction is one message, since every request was answered
// before the next one.
func (r *relay) exchanges() (all []exchange) {
	r.mu.Lock()
	defer r.mu.Unlock()
	var asked time.Time
	for i, c := range r.log {
		if c.client && (i == 0 || !r.log[i-1].client) {
			all = append(all, exchange{})
			asked = c.at
		}
		if len(all) == 0 {
			continue
		}
		e := &all[len(all)-1]
		if c.client {
			e.request = append(e.request, c.bytes...)
			continue
		}
		if len(e.reply) == 0 {
			e.took = c.at.Sub(asked)
		}
		e.reply = append(e.reply, c.bytes...)
	}
	return all
}

// start starts a program that is stopped at the end of the test at the latest, and returns its standard output.
func start(t *testing.T, name string, args ...string) *bufio.Reader {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), patience)
	cmd := exec.CommandContext(ctx, name, args...)
	cmd.Cancel = func() error { return cmd.Process.Signal(syscall.SIGTERM) }
	cmd.WaitDelay = 2 * time.Second
	out, err := cmd.StdoutPipe()
	if err == nil {
		err = cmd.Start()
	}
	if err != nil {
		cancel()
		t.Fatalf("%s: %v", name, err)
	}
	t.Cleanup(func() {
		cancel()
		_ = cmd.Wait() // it was stopped
	})
	return bufio.NewReader(out)
}

// await waits until a file is there.
func await(t *testing.T, names ...string) {
	t.Helper()
	tick := time.NewTicker(5 * time.Millisecond)
	defer tick.Stop()
	late := time.After(10 * time.Second)
	for _, name := range names {
		for {
			if _, err := os.Stat(name); err == nil {
				break
			}
			select {
			case <-tick.C:
			case <-late:
				t.Fatalf("socat did not make the pseudo-terminal %s within 10 s", name)
			}
		}
	}
}

// questions are the calls of mbpoll: the table, the first reference, how many to read, values to write.
var questions = [][]string{
	{"-t", "4", "-r", "101", "-c", "5"},
	{"-t", "3", "-r", "1", "-c", "8"},
	{"-t", "0", "-r", "101", "-c", "20"},
	{"-t", "1", "-r", "1", "-c", "11"},
	{"-t", "4", "-r", "120", "-c", "1"},
	{"-t", "0", "-r", "3", "", "1"},
	{"-t", "4", "-r", "2", "", "4711"},
	{"-t", "0", "-r", "5", "", "1", "0", "1", "1"},
	{"-t", "4", "-r", "7", "", "1", "22", "333"},
	{"-t", "3", "-r", "30", "-c", "2"},
	{"-u"},
	{"-t", "4", "-r", "900", "-c", "2"}, // refused: illegal data address
}

// talkOfPeers lets mbpoll ask a server on libmodbus through two pairs of pseudo-terminals of socat, with a relay between
// them, and returns what went over it.
func talkOfPeers(t *testing.T, rounds int) []exchange {
	t.Helper()
	needs(t, "gcc", "socat", "mbpoll")
	dir := t.TempDir()
	server := filepath.Join(dir, "server")
	runProgram(t, "gcc", "-O1", "-Wall", "-o", server, filepath.Join("testdata", "server.c"), "-lmodbus")

	var ends []string
	for _, pair := range []string{"client", "server"} {
		a, b := filepath.Join(dir, pair+".end"), filepath.Join(dir, pair+".relay")
		start(t, "socat", "-T", fmt.Sprint(patience.Seconds()), "PTY,raw,echo=0,link="+a, "PTY,raw,echo=0,link="+b)
		ends = append(ends, a, b)
	}
	await(t, ends...)
	r, err := newRelay(ends[1], ends[3])
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = r.Close() }) // closed before, unless the test failed
	out := start(t, server, ends[2], "19200", fmt.Sprint(unit))
	if line, err := out.ReadString('\n'); err != nil || line != "ready\n" {
		t.Fatalf("the server on libmodbus: got %q (%v), want ready", line, err)
	}
	for range rounds {
		for _, q := range questions {
			args := []string{"-m", "rtu", "-a", fmt.Sprint(unit), "-b", "19200", "-P", "none", "-1", "-o", "5"}
			values := slices.Index(q, "")
			if values < 0 {
				values = len(q)
			}
			args = append(append(args, q[:values]...), ends[0])
			if values < len(q) {
				args = append(args, q[values+1:]...)
			}
			ctx, cancel := context.WithTimeout(t.Context(), patience)
			text, err := exec.CommandContext(ctx, "mbpoll", args...).CombinedOutput()
			cancel()
			if refused := bytes.Contains(text, []byte("Illegal data address")); refused != slices.Contains(q, "900") || err != nil && !refused {
				t.Fatalf("mbpoll %v: %v\n%s", args, err, text)
			}
		}
	}
	if err := r.Close(); err != nil {
		t.Error(err)
	}
	all := r.exchanges()
	if len(all) != rounds*len(questions) {
		t.Fatalf("the peers exchanged %d requests, want %d", len(all), rounds*len(questions))
	}
	var took time.Duration
	var asked, answered []byte
	for _, e := range all {
		if len(e.request) < 4 || len(e.reply) < 4 {
			t.Fatalf("the peers exchanged %X and %X", e.request, e.reply)
		}
		took += e.took
		asked, answered = append(asked, e.request[1]), append(answered, e.reply[1])
	}
	if got := distinct(asked); !bytes.Equal(got, []byte{1, 2, 3, 4, 5, 6, 15, 16, 17}) {
		t.Errorf("functions asked for: %d", got)
	}
	if got := distinct(answered); !bytes.Equal(got, []byte{1, 2, 3, 4, 5, 6, 15, 16, 17, 0x83}) {
		t.Errorf("functions answered: %d", got)
	}
	t.Logf("%d exchanges of the peers, %v in the mean to the reply", len(all), took/time.Duration(len(all)))
	return all
}

func distinct(b []byte) []byte {
	slices.Sort(b)
	return slices.Compact(b)
}

// setting is how the converter puts the exchanges on a line. Times are seconds.
type setting struct {
	speed            float64
	format           string
	period           float64 // from poll to poll, give or take a fiftieth
	fastest, slowest float64 // turn-around
}

// Clocks of the two senders, as far off as crystals and resonators are, and their distortion.
const (
	askedPPM, answeredPPM   = 180, -950
	askedBias, answeredBias = 0.02, -0.03
	jitter                  = 0.003
)

// harm is what happens to one exchange on the line.
type harm struct {
	name   string
	bend   func(p *put)
	why    string // broken rules of the frame that it was done to; empty: that frame is not there or still good
	side   capture.Side
	ids    []string // evidence beside the figures that a sound line has too
	silent bool     // no reply comes
	late   bool     // the reply comes late
	at     int      // index of the exchange that it is done to
}

// put is one exchange on its way to the line: raw elements by character, and the pause before each.
type put struct {
	request, reply []element
	turn           float64 // turn-around
}

// element is one character.
type element struct {
	bits  []bool
	pause float64 // before it, bits
}

func elements(f uart.Format, octets []byte) (all []element) {
	for _, b := range octets {
		all = append(all, element{bits: uarttest.Bits(f, uint16(b))})
	}
	return all
}

// truth is what was put on the line: a frame that must be found.
type truth struct {
	at, end float64
	octets  []byte
	poll    bool
	turn    float64
}

// laid is a converted talk.
type laid struct {
	wire   *uarttest.Wire
	frames []truth
	harmed int // index of the frame that was harmed; where it is missing, of its poll; -1: none
}

// threeOctets is one whose reply, 20 coils in three octets, has the shape of a request.
const threeOctets = 3*12 + 2

// eightRegisters is an exchange in the middle of the talk that reads eight input registers.
const eightRegisters = 3*12 + 1

// lay puts the exchanges on a line.
func lay(t *testing.T, talk []exchange, s setting, h *harm) *laid {
	t.Helper()
	f, err := uart.ParseFormat(s.format)
	if err != nil {
		t.Fatal(err)
	}
	r := rand.New(rand.NewPCG(uint64(s.speed), 7))
	sender := func(off, bias float64) uarttest.Sender {
		return uarttest.Sender{Line: uart.Line{Speed: s.speed * (1 + off*1e-6), Format: f}, Bias: bias, Jitter: jitter, Rand: r}
	}
	a, b := sender(askedPPM, askedBias), sender(answeredPPM, answeredBias)
	l := &laid{wire: &uarttest.Wire{Clock: capture.Nanoseconds}, harmed: -1}
	next := s.period
	for i, e := range talk {
		p := &put{request: elements(f, e.request), reply: elements(f, e.reply), turn: s.fastest + (s.slowest-s.fastest)*r.Float64()}
		harmed := h != nil && i == h.at
		if harmed && h.bend != nil {
			h.bend(p)
		}
		l.wire.Now = next
		l.send(a, p.request, true, -1)
		if harmed && h.side == capture.SideA {
			l.harmed = len(l.frames) - 1
		}
		answered := !harmed || !h.silent
		if answered {
			if harmed && h.late {
				p.turn = s.period * 0.45
			}
			if silence := 3.5 * 11 / s.speed; p.turn < silence {
				t.Fatalf("a turn-around of %v s is shorter than 3.5 characters, %v s", p.turn, silence)
			}
			l.wire.Idle(p.turn)
			l.send(b, p.reply, false, p.turn)
		}
		if harmed && h.side == capture.SideB {
			l.harmed = len(l.frames) - 1
		}
		if next += s.period * (1 + 0.04*(r.Float64()-0.5)); next < l.wire.Now+3.5*11/s.speed {
			t.Fatalf("the poll period of %v s leaves no silence after exchange %d", s.period, i)
		}
	}
	l.wire.Now = next
	return l
}

// send puts one message on the line and notes what must be found.
func (l *laid) send(s uarttest.Sender, message []element, poll bool, turn float64) {
	w := l.wire
	f := truth{at: w.Now, poll: poll, turn: turn}
	for i, e := range message {
		if i > 0 {
			w.Idle(e.pause / s.Speed)
		}
		w.Elements(s, e.bits)
		w.Idle(s.Format.Length() / s.Speed)
		f.octets = append(f.octets, octetOf(e.bits))
	}
	f.end = w.Now
	l.frames = append(l.frames, f)
}

// octetOf reads eight data bits back from a character's elements.
func octetOf(bits []bool) (v byte) {
	for i := range 8 {
		if bits[1+i] {
			v |= 1 << i
		}
	}
	return v
}

// harms are done one at a time, most to eightRegisters. Its reply is address, function, count, sixteen octets, two of CRC.
func harms(parity bool) []harm {
	flip := func(bits []bool, at int) []bool {
		bits = slices.Clone(bits)
		bits[at] = !bits[at]
		return bits
	}
	swap := func(e element) element { // two data bits flipped: parity stays right
		return element{bits: flip(flip(e.bits, 2), 5), pause: e.pause}
	}
	flipped := "checksum"
	flippedAs := "checksum-clean-bits-"
	if parity {
		flipped, flippedAs = "checksum+parity", "damaged-"
	}
	all := []harm{
		{name: "a byte of a reply changed", side: capture.SideB, why: "checksum", ids: []string{"checksum-clean-bits-b"},
			bend: func(p *put) { p.reply[7] = swap(p.reply[7]) }},
		{name: "a byte of a request changed", side: capture.SideA, why: "checksum", ids: []string{"checksum-clean-bits-a"}, silent: true,
			bend: func(p *put) { p.request[3] = swap(p.request[3]) }},
		{name: "the checksum of a reply changed", side: capture.SideB, why: "checksum", ids: []string{"checksum-clean-bits-b"},
			bend: func(p *put) { p.reply[len(p.reply)-1] = swap(p.reply[len(p.reply)-1]) }},
		{name: "a bit of a reply flipped", side: capture.SideB, why: flipped, ids: []string{flippedAs + "b"},
			bend: func(p *put) { p.reply[9].bits = flip(p.reply[9].bits, 4) }},
		{name: "a bit of a request flipped", side: capture.SideA, why: flipped, ids: []string{flippedAs + "a"}, silent: true,
			bend: func(p *put) { p.request[5].bits = flip(p.request[5].bits, 8) }},
		{name: "a byte of a reply dropped", side: capture.SideB, why: "checksum+length", ids: []string{"damaged-b"},
			bend: func(p *put) { p.reply = slices.Delete(p.reply, 10, 11) }},
		{name: "a byte of a request dropped", side: capture.SideA, why: "checksum+length", ids: []string{"damaged-a"}, silent: true,
			bend: func(p *put) { p.request = slices.Delete(p.request, 4, 5) }},
		{name: "a byte of a reply dropped, its time kept", side: capture.SideB, why: "checksum+length", ids: []string{"damaged-b"},
			bend: func(p *put) {
				p.reply = slices.Delete(p.reply, 10, 11)
				p.reply[10].pause = 11
			}},
		{name: "a byte of a reply delayed beyond t1.5", side: capture.SideB, why: "timing", ids: []string{"damaged-b"},
			bend: func(p *put) { p.reply[12].pause = 2.5 * 11 }},
		{name: "a byte of a request delayed beyond t1.5", side: capture.SideA, why: "timing", ids: []string{"damaged-a"}, silent: true,
			bend: func(p *put) { p.request[2].pause = 2.5 * 11 }},
		{name: "a byte of a reply delayed within t1.5", side: capture.SideB,
			bend: func(p *put) { p.reply[12].pause = 1.3 * 10 }},
		{name: "a reply dropped", side: capture.SideA, silent: true, ids: []string{"missing-b"}},
		{name: "a reply late", side: capture.SideB, late: true, why: "timing", ids: []string{"late-b"}},
		{name: "a reply with the shape of a request late", side: capture.SideB, late: true, why: "timing", ids: []string{"late-b"}, at: threeOctets},
	}
	for i := range all {
		if all[i].at == 0 {
			all[i].at = eightRegisters
		}
	}
	return all
}

// everyQuestion loses, breaks and delays the reply of each kind of exchange in turn. A late reply to a single
// write is left out: it is the request's echo, octet for octet what a request repeated after a time-out would be.
func everyQuestion() (all []harm) {
	for i, q := range questions {
		at, name := 2*len(questions)+i, strings.Join(q, " ")
		all = append(all,
			harm{name: name + " not answered", at: at, side: capture.SideA, silent: true, ids: []string{"missing-b"}},
			harm{name: name + " with a pause in the reply", at: at, side: capture.SideB, why: "timing", ids: []string{"damaged-b"},
				bend: func(p *put) { p.reply[len(p.reply)/2].pause = 2 * 11 }})
		if single := len(q) > 2 && q[len(q)-2] == ""; !single {
			all = append(all, harm{name: name + " answered late", at: at, side: capture.SideB, late: true, why: "timing", ids: []string{"late-b"}})
		}
	}
	return all
}

// Modbus RTU of two independent peers, put on a line at three speeds, is found frame by frame; what is then done to one
// frame is found where it was done, and nothing else is.
func TestModbusOfIndependentPeers(t *testing.T) {
	t.Parallel()
	talk := talkOfPeers(t, 7)
	for _, s := range []setting{
		{speed: 9600, format: "8N1", period: 0.160, fastest: 0.006, slowest: 0.018},
		{speed: 19200, format: "8E1", period: 0.080, fastest: 0.0025, slowest: 0.010},
		{speed: 2400, format: "8N2", period: 0.500, fastest: 0.020, slowest: 0.050},
	} {
		t.Run(fmt.Sprintf("%g-%s", s.speed, s.format), func(t *testing.T) {
			t.Parallel()
			t.Run("untouched", func(t *testing.T) {
				t.Parallel()
				untouched(t, lay(t, talk, s, nil), s)
			})
			all := harms(s.format == "8E1")
			if s.format == "8E1" && !raceEnabled {
				all = append(all, everyQuestion()...)
			}
			for _, h := range all {
				t.Run(strings.ReplaceAll(h.name, " ", "-"), func(t *testing.T) {
					t.Parallel()
					harmed(t, lay(t, talk, s, &h), &h)
				})
			}
		})
	}
}

// untouched wants every frame good, on its side, and the line sound.
func untouched(t *testing.T, l *laid, s setting) {
	f, frames := examineFrames(t, l.wire.Source(1000))
	compare(t, l, frames)
	if f.Link == nil || !f.Link.Framing.Modbus || f.Link.Line != (uart.Line{Speed: s.speed, Format: mustFormat(t, s.format)}) {
		t.Fatalf("link: got %+v, want Modbus RTU at %g Bd %s", f.Link, s.speed, s.format)
	}
	if f.Verdict.Cause != cause.None || f.Unframed != 0 {
		t.Errorf("verdict: got %s (%s), %d unframed, want none", f.Verdict.Cause, f.Verdict.Summary, f.Unframed)
	}
	wantEvidence(t, f, nil)
	want := int64(len(l.frames) / 2)
	for i, off := range []float64{askedPPM, answeredPPM} {
		got := &f.Senders[i]
		if got.Frames != want || got.Good != want || got.Bad != (decode.Bad{}) {
			t.Errorf("side %s: got %d frames, %d good, bad %+v, want %d good ones", got.Side, got.Frames, got.Good, got.Bad, want)
		}
		if !near(got.SpeedErrorPPM, off, 100) {
			t.Errorf("side %s: speed %+.1f ppm off, want %+.1f", got.Side, got.SpeedErrorPPM, off)
		}
		if bias := 100 * []float64{askedBias, answeredBias}[i]; !near(got.BiasPct, bias, 0.2) {
			t.Errorf("side %s: bias %+.3f %%, want %+.1f", got.Side, got.BiasPct, bias)
		}
	}
	r := &f.Senders[1]
	if r.TurnP50 < s.fastest || r.TurnP99 > s.slowest+2/s.speed {
		t.Errorf("turn-around: got %.6f and %.6f s, sent between %g and %g", r.TurnP50, r.TurnP99, s.fastest, s.slowest)
	}
	if p := f.Link.Timing.PollPeriod; !near(p/s.period, 1, 0.02) {
		t.Errorf("poll period: got %.6f s, want %g", p, s.period)
	}
	t.Logf("%d frames, all good; a %+.1f ppm, bias %+.2f %%; b %+.1f ppm, bias %+.2f %%; turn-around p50 %.2f ms; %s",
		len(frames), f.Senders[0].SpeedErrorPPM, f.Senders[0].BiasPct, r.SpeedErrorPPM, r.BiasPct, 1e3*r.TurnP50, f.Verdict.Summary)
}

// harmed wants one frame broken, or missing, and nothing else.
func harmed(t *testing.T, l *laid, h *harm) {
	f, frames := examineFrames(t, l.wire.Source(1000))
	compare(t, l, frames)
	if t.Failed() {
		return
	}
	var why link.Why
	for i := range frames {
		got := strings.Join(frames[i].Why.Names(), "+")
		want := ""
		if i == l.harmed {
			why, want = frames[i].Why, h.why
		}
		if got != want {
			t.Errorf("frame %d at %.6f s (%X, side %s): broke %q, want %q", i, l.frames[i].at, l.frames[i].octets, frames[i].Side, got, want)
		}
	}
	if f.Unframed != 0 {
		t.Errorf("got %d unframed, want none", f.Unframed)
	}
	for i := range f.Senders {
		s := &f.Senders[i]
		want := decode.Bad{}
		if s.Side == h.side {
			one := func(w link.Why) int64 {
				if why&w != 0 {
					return 1
				}
				return 0
			}
			want = decode.Bad{Checksum: one(link.WhyChecksum), Parity: one(link.WhyParity), Stop: one(link.WhyStop),
				Length: one(link.WhyLength), Timing: one(link.WhyTiming)}
		}
		if s.Bad != want {
			t.Errorf("side %s: bad %+v, want %+v", s.Side, s.Bad, want)
		}
	}
	// One loss among so many convicts nobody.
	if c := f.Verdict.Cause; c != cause.None && c != cause.Unknown {
		t.Errorf("verdict: %s (%s)", c, f.Verdict.Summary)
	}
	if len(h.ids) == 0 {
		wantEvidence(t, f, nil)
		return
	}
	wantEvidence(t, f, h.ids, l.wire.Clock.Ticks(l.frames[l.harmed].at))
}

// compare wants the frames that were put on the line, byte for byte, at their times and on their sides, and no other.
func compare(t *testing.T, l *laid, frames []kept) {
	t.Helper()
	c := l.wire.Clock
	for i := range min(len(frames), len(l.frames)) {
		got, want := &frames[i], &l.frames[i]
		var octets []byte
		for _, v := range got.Values {
			octets = append(octets, byte(v))
		}
		side := capture.SideB
		if want.poll {
			side = capture.SideA
		}
		if !bytes.Equal(octets, want.octets) || got.Side != side || got.Poll != want.poll {
			t.Fatalf("frame %d at %.6f s: got %X on side %s, poll %v, %v; want %X on side %s, poll %v at %.6f s", i, c.Seconds(got.At),
				octets, got.Side, got.Poll, got.Why.Names(), want.octets, side, want.poll, want.at)
		}
		if !near(c.Seconds(got.At), want.at, 2e-9) {
			t.Errorf("frame %d: begins at %.9f s, want %.9f", i, c.Seconds(got.At), want.at)
		}
		// The nominal end of the last character: a character at one speed ends elsewhere by its clock error.
		if !near(c.Seconds(got.End), want.end, 0.002*(want.end-want.at)) {
			t.Errorf("frame %d: ends at %.9f s, want %.9f", i, c.Seconds(got.End), want.end)
		}
		if want.poll != (got.Turnaround < 0) || !want.poll && !near(c.Seconds(got.Turnaround), want.turn, 20e-6) {
			t.Errorf("frame %d: turn-around %.6f s, want %.6f", i, c.Seconds(got.Turnaround), want.turn)
		}
	}
	if len(frames) != len(l.frames) {
		t.Fatalf("got %d frames, want %d", len(frames), len(l.frames))
	}
}

// losses are the kinds of evidence that name something lost or damaged.
var losses = []string{"checksum-clean-bits-", "damaged-", "unframed-", "late-", "missing-", "glitches"}

// wantEvidence wants the pieces of evidence that a harm makes, each at one instant, and no other loss. The joint
// evidence of all losses must name the same instants.
func wantEvidence(t *testing.T, f *decode.Finding, ids []string, at ...capture.Tick) {
	t.Helper()
	off := func(a, b capture.Tick) int { return max(0, int((a-b)/2), int((b-a)/2)) } // the line is rounded to a tick
	var found []string
	for i := range f.Evidence {
		e := &f.Evidence[i]
		if e.ID == "losses" && slices.CompareFunc(e.At, at, off) != 0 {
			t.Errorf("evidence losses: %s, at %v, want %v", e.Says, e.At, at)
		}
		if !slices.ContainsFunc(losses, func(p string) bool { return strings.HasPrefix(e.ID, p) }) {
			continue
		}
		found = append(found, e.ID)
		if slices.Contains(ids, e.ID) && slices.CompareFunc(e.At, at, off) != 0 {
			t.Errorf("evidence %s: at %v, want %v", e.ID, e.At, at)
		}
	}
	if slices.Sort(found); !slices.Equal(found, ids) {
		t.Errorf("evidence of losses: got %q, want %q", found, ids)
	}
}

// Published Modbus RTU frames (check-values.md 1.3 and 1.4: Modicon, the test suites of pymodbus and goburrow/modbus) are
// good as they stand, and have a wrong checksum with its octets exchanged.
func TestPublishedModbusFramesAreGood(t *testing.T) {
	t.Parallel()
	line := uart.Line{Speed: 9600, Format: mustFormat(t, "8E1")}
	for _, text := range []string{
		"01 03 00 00 00 0A C5 CD", "11 03 00 6B 00 03 76 87", "02 07 41 12", "01 03 50 00 00 18 54 C0",
		"04 01 00 0A 00 0D DD 98", "04 02 00 0A 00 0D 99 98", "01 03 00 00 00 02 C4 0B", "11 05 00 AC FF 00 4E 8B",
		"11 06 00 01 00 03 9A 9B", "11 0F 00 13 00 0A 02 CD 01 BF 0B", "11 10 00 01 00 02 04 00 0A 01 02 C6 F0",
		"FE 04 00 03 00 01 D5 C5", "11 02 00 C4 00 16 BA A9", "11 04 00 08 00 01 B2 98",
		"11 03 06 AE 41 56 52 43 40 49 AD", "00 03 00 7C 00 02 04 02", "00 03 04 00 8D 00 8E FA BC", "00 83 02 91 31",
		"11 03 00 7C 00 02 07 43", "11 03 04 00 8D 00 8E FB BD", "11 83 02 C1 34", "FF 03 00 7C 00 02 10 0D",
		"FF 03 04 00 8D 00 8E F5 B3", "FF 83 02 A1 01",
	} {
		octets, err := hex.DecodeString(strings.ReplaceAll(text, " ", ""))
		if err != nil {
			t.Fatal(err)
		}
		wrong := slices.Clone(octets)
		n := len(wrong)
		wrong[n-2], wrong[n-1] = wrong[n-1], wrong[n-2]
		w := &uarttest.Wire{Clock: capture.Nanoseconds}
		for _, message := range [][]byte{octets, wrong} {
			w.Idle(0.05)
			for _, b := range message {
				w.Send(uarttest.Sender{Line: line}, uint16(b))
			}
		}
		w.Idle(0.05)
		var got []string
		_, err = decode.Run(t.Context(), w.Source(100), link.ModbusRTU(line), decode.Options{Frames: func(f *link.Frame) {
			got = append(got, strings.Join(f.Why.Names(), "+"))
		}})
		if want := []string{"", "checksum"}; err != nil || !slices.Equal(got, want) {
			t.Errorf("%s: got %q (%v), want %q", text, got, err, want)
		}
	}
}

func mustFormat(t *testing.T, s string) uart.Format {
	t.Helper()
	f, err := uart.ParseFormat(s)
	if err != nil {
		t.Fatal(err)
	}
	return f
}
