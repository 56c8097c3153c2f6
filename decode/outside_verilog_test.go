package decode_test

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"

	"linewitness/capture"
	"linewitness/capture/burst"
	"linewitness/capture/file"
	"linewitness/decode/uart"
)

// sent is a setting of the transmitter in testdata/transmitter.v.
type sent struct {
	speed    float64
	format   string
	inverted bool
	reads    string // the format that Guess must name, where it isn't the one sent
}

func (s sent) String() string {
	name := fmt.Sprintf("%g-%s", s.speed, s.format)
	if s.inverted {
		name += "-inverted"
	}
	return name
}

// Every character of a transmitter in Verilog comes back, and a blind guess names speed, format and polarity.
func TestVerilogTransmitterIsReadBlind(t *testing.T) {
	t.Parallel()
	needs(t, "iverilog", "vvp")
	program := filepath.Join(t.TempDir(), "transmitter.vvp")
	runProgram(t, "iverilog", "-g2005", "-Wall", "-o", program, filepath.Join("testdata", "transmitter.v"))

	var mu sync.Mutex
	var table []string
	t.Cleanup(func() {
		slices.Sort(table)
		t.Logf("sent, read, off by, characters\n%s", strings.Join(table, "\n"))
	})
	for i, s := range []sent{
		{speed: 100, format: "8N1"},
		{speed: 110, format: "7E1", inverted: true},
		{speed: 300, format: "8E1"},
		{speed: 1200, format: "7O2"},
		{speed: 1234.5, format: "8E1", inverted: true},
		{speed: 2400, format: "8N2"},
		{speed: 2400, format: "8M1", reads: "8N2"}, // the same line: the second says so in Equivalent
		{speed: 4800, format: "8S1"},
		{speed: 9600, format: "8N1"},
		{speed: 9600, format: "8N1", inverted: true},
		{speed: 9600, format: "5N1.5"},
		{speed: 10400, format: "8N1"},
		{speed: 19200, format: "8O1"},
		{speed: 19200, format: "7E1"},
		{speed: 31250, format: "8N1", inverted: true},
		{speed: 31250, format: "9N1"},
		{speed: 38400, format: "8N1.5"},
		{speed: 115200, format: "8E2", inverted: true},
		{speed: 333333, format: "6N1"},
		{speed: 1e6, format: "8N1"},
		{speed: 1e6, format: "8O2", inverted: true},
	} {
		t.Run(s.String(), func(t *testing.T) {
			t.Parallel()
			row := readBlind(t, program, s, 1+i)
			mu.Lock()
			defer mu.Unlock()
			table = append(table, row)
		})
	}
}

// readBlind sends, guesses and examines one setting and returns its row of the table.
func readBlind(t *testing.T, program string, s sent, seed int) string {
	f, err := uart.ParseFormat(s.format)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	vcd, text := filepath.Join(dir, "line.vcd"), filepath.Join(dir, "sent.txt")
	inverted := 0
	if s.inverted {
		inverted = 1
	}
	runProgram(t, "vvp", "-n", program, "+vcd="+vcd, "+sent="+text, fmt.Sprintf("+bit=%.9f", 1e9/s.speed),
		fmt.Sprintf("+data=%d", f.DataBits), "+parity="+f.Parity.String(), fmt.Sprintf("+stop=%d", f.StopHalfs),
		fmt.Sprintf("+inverted=%d", inverted), "+frames=80", "+most=12", fmt.Sprintf("+seed=%d", seed))
	want := sentFrames(t, text)

	src := open(t, vcd)
	all, err := uart.Guess(transitions(t, src), src.Info().Clock)
	if err != nil {
		t.Fatal(err)
	}
	g, wantFormat := all[0], s.format
	if s.reads != "" {
		wantFormat = s.reads
	}
	if g.Format.String() != wantFormat || g.Inverted != s.inverted || g.Broken != 0 {
		t.Errorf("guess: got %s inverted %v with %d broken, want %s inverted %v with none; next %+v",
			g.Format, g.Inverted, g.Broken, wantFormat, s.inverted, all[min(1, len(all)-1)])
	}
	if s.reads != "" && !slices.ContainsFunc(g.Equivalent, func(e string) bool { return strings.HasPrefix(e, s.format) }) {
		t.Errorf("guess: %s is not among what cannot be told apart: %q", s.format, g.Equivalent)
	}
	if d := ppm(g.Speed, s.speed); !near(d, 0, 100) {
		t.Errorf("guess: got %.6f Bd, want %g: %+.1f ppm off, 100 at most", g.Speed, s.speed, d)
	}

	finding, frames := examineFrames(t, open(t, vcd))
	if len(frames) != len(want) {
		t.Errorf("examine: got %d frames, want %d", len(frames), len(want))
	}
	n := 0
	for i := range min(len(frames), len(want)) {
		if !slices.Equal(frames[i].Values, want[i]) || frames[i].faults != 0 || frames[i].Why&^1 != 0 {
			t.Fatalf("frame %d: got %x (%d characters with faults, %v), want %x", i, frames[i].Values, frames[i].faults, frames[i].Why.Names(), want[i])
		}
		n += len(want[i])
	}
	if finding.Link == nil {
		t.Fatal("examine: no link was learned")
	}
	learned := ppm(finding.Link.Measured, s.speed)
	if !near(learned, 0, 100) || finding.Link.Line.Inverted != s.inverted || finding.Link.Line.Format != g.Format {
		t.Errorf("examine: learned %+v at %.6f Bd (%+.1f ppm), want %s at %g", finding.Link.Line, finding.Link.Measured, learned, wantFormat, s.speed)
	}
	if finding.Link.Checksum != nil {
		t.Errorf("examine: found the checksum %v in random characters", finding.Link.Checksum)
	}
	return fmt.Sprintf("%-22s %11.4f Bd %-5s %+7.2f ppm (+-%.2f) %4d", s, g.Speed, g.Format, ppm(g.Speed, s.speed), g.PPM, n)
}

// sentFrames reads what the transmitter says that it sent, a frame a line.
func sentFrames(t *testing.T, name string) (frames [][]uint16) {
	t.Helper()
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(text)) {
		var f []uint16
		for _, word := range strings.Fields(line) {
			v, err := strconv.ParseUint(word, 10, 9)
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			f = append(f, uint16(v))
		}
		frames = append(frames, f)
	}
	return frames
}

// open opens a recording for the time of the test. The net of a VCD is called line.
func open(t *testing.T, name string) capture.Source {
	t.Helper()
	src, err := file.Open(name, nil, file.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { src.Close() })
	return src
}

// transitions reads a source to its end.
func transitions(t *testing.T, src capture.Source) (all capture.Transitions) {
	t.Helper()
	for b := range blocks(t, src) {
		all.At, all.To = append(all.At, b.At...), append(all.To, b.To...)
	}
	return all
}

// The ten edges of check-values.md 8.1, made with Icarus Verilog, are the byte 55.
func TestIcarusVectorIsByte55(t *testing.T) {
	t.Parallel()
	const vcd = `$date today $end
$version Icarus Verilog $end
$timescale 1ns $end
$scope module u $end
$var reg 1 ! tx $end
$upscope $end
$enddefinitions $end
#0
$dumpvars
1!
$end
#1000000
0!
#1104167
1!
#1208334
0!
#1312501
1!
#1416668
0!
#1520835
1!
#1625002
0!
#1729169
1!
#1833336
0!
#1937503
1!
#3000000
`
	src, err := file.Open("-", strings.NewReader(vcd), file.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer src.Close()
	d := uart.NewDecoder(uart.Line{Speed: 9600, Format: uart.Format{DataBits: 8, StopHalfs: 2}}, src.Info().Clock)
	var chars uart.Chars
	cut := burst.New(capture.Tick(20*d.Bit()), func() *burst.Batch { return new(burst.Batch) }, func(b *burst.Batch) error {
		d.Decode(&chars, b)
		return nil
	})
	for b := range blocks(t, src) {
		if err := cut.Add(b); err != nil {
			t.Fatal(err)
		}
	}
	if err := cut.Flush(); err != nil {
		t.Fatal(err)
	}
	if len(chars.Chars) != 1 {
		t.Fatalf("got %d characters, want 1", len(chars.Chars))
	}
	c := chars.Chars[0]
	if c.Value != 0x55 || c.Fault != 0 || c.At != 1000000 || c.Edges != 9 || math.Abs(float64(c.Distortion())) > 1e-4 {
		t.Errorf("got %+v, want a clean 55 at 1000000 ns with 9 edges", c)
	}
}
