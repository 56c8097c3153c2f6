package decode_test

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"text/template"

	"linewitness/capture"
	"linewitness/decode/uart"
	"linewitness/decode/uart/uarttest"
)

// loopCircuit is a current loop as testdata/loop.cir draws it. The zero value with a speed and a talk is a sound loop of
// 24 V and 2.2 kohm in each end, recorded at the end that does not feed.
type loopCircuit struct {
	speed float64 // Bd
	talk  loopTalk

	supply          float64 // V; negative: the loop runs backwards
	dips            []dip   // of the supply
	feedR, otherR   float64 // ohm, in the two ends
	cable           float64 // F
	live            float64 // F, from L to S; 0: none
	joint, leak     float64 // ohm: in series with S; from S to N, 0: none
	neutral         float64 // V, amplitude of 50 Hz in series with N
	atFeed          bool    // recorded at the end that feeds
	phototransistor bool    // senders as slow as optocouplers, not ideal switches
	step            float64 // s, ngspice's largest; 0: as the cable's curves need
}

// dip is a sag of the supply: 10 uF at 5 mA fall by 0.5 V a millisecond, so 10 ms to the bottom; it lasts, and recovers
// within 100 ms.
type dip struct{ at, lasts, depth float64 }

// filled fills in what a circuit leaves open.
func (c loopCircuit) filled() loopCircuit {
	for v, usual := range map[*float64]float64{&c.supply: 24, &c.feedR: 2200, &c.otherR: 2200, &c.cable: 1e-9, &c.leak: 1e12} {
		if *v == 0 {
			*v = usual
		}
	}
	if c.step == 0 {
		c.step = 10e-6 // ngspice itself refines edges that are sharp
		if mark := c.cable * c.feedR * c.otherR / (c.feedR + c.otherR); mark > 5e-6 {
			c.step = min(max(math.Sqrt(1e-6*mark), 3e-6), 10e-6) // a chord over h is h*h/8 over the time constant off: 0.13 us
		}
	}
	return c
}

// moving tells that the levels move while nobody sends.
func (c loopCircuit) moving() bool { return c.neutral != 0 || len(c.dips) > 0 }

// settle is how long after a sender's change the terminal has come to rest, s: 6 time constants of the cable against
// the larger resistor, and the storage time of a sender.
func (c loopCircuit) settle() float64 {
	s := 20e-6 + 6*c.cable*(max(c.feedR, c.otherR)+c.joint)
	if c.phototransistor {
		s += 200e-6
	}
	return s
}

// supplyWave is the supply in SPICE's notation.
func (c loopCircuit) supplyWave() string {
	if len(c.dips) == 0 {
		return fmt.Sprintf("DC %g", c.supply)
	}
	wave := fmt.Sprintf("PWL(0 %g", c.supply)
	for _, d := range c.dips {
		low := c.supply * (1 - d.depth)
		wave += fmt.Sprintf(" %.9f %g %.9f %g %.9f %g %.9f %g", d.at, c.supply, d.at+0.010, low, d.at+d.lasts, low, d.at+d.lasts+0.100, c.supply)
	}
	return wave + ")"
}

// state is a stretch in which neither sender changes.
type state struct {
	from, to float64 // s
	level    capture.Level
}

// plan is what the two units do from 0 to the end, in seconds.
func (c loopCircuit) plan(t *testing.T) (feed, other *capture.Block, states []state) {
	f, err := uart.ParseFormat("8E1")
	if err != nil {
		t.Fatal(err)
	}
	s := uarttest.Sender{Line: uart.Line{Speed: c.speed, Format: f}, Rand: rand.New(rand.NewPCG(24, uint64(c.speed)))}
	wires := [2]*uarttest.Wire{}
	for i := range wires {
		wires[i] = &uarttest.Wire{Clock: capture.Nanoseconds, Now: 0.040} // 40 ms idle before and after
	}
	c.talk(s, wires[0], wires[1])
	end := max(wires[0].Now, wires[1].Now) + 0.040
	wires[0].Now, wires[1].Now = end, end
	feed, other = wires[0].Block(), wires[1].Block()

	now := state{level: capture.Mid}
	for i, j := 0, 0; i < len(feed.At) || j < len(other.At); {
		next := now
		if j == len(other.At) || i < len(feed.At) && feed.At[i] < other.At[j] {
			next.from, next.level = capture.Nanoseconds.Seconds(feed.At[i]), opened(feed.To[i], capture.Low)
			i++
		} else {
			next.from, next.level = capture.Nanoseconds.Seconds(other.At[j]), opened(other.To[j], capture.High)
			j++
		}
		if (next.level == capture.Mid) == (now.level == capture.Mid) {
			t.Fatalf("both units send at %g s", next.from)
		}
		now.to = next.from
		states, now = append(states, now), next
	}
	now.to = end
	return feed, other, append(states, now)
}

// opened is the level at the terminal when a sender conducts (mark) or opens.
func opened(sender, level capture.Level) capture.Level {
	if sender == capture.High {
		return capture.Mid
	}
	return level
}

// drive is a sender in SPICE's notation, time and volts a line: 5 V conducts; each change takes 1 us.
func drive(b *capture.Block) []string {
	lines, v := []string{"0 5"}, 5
	for i, at := range b.At {
		s := capture.Nanoseconds.Seconds(at)
		next := 0
		if b.To[i] == capture.High {
			next = 5
		}
		lines = append(lines, fmt.Sprintf("%.9f %d %.9f %d", s, v, s+1e-6, next))
		v = next
	}
	return append(lines, fmt.Sprintf("%.9f %d", capture.Nanoseconds.Seconds(b.End)+1, v))
}

// runLoop simulates a circuit.
func runLoop(t *testing.T, c loopCircuit) *waveform {
	t.Helper()
	c = c.filled()
	feed, other, states := c.plan(t)
	dir := t.TempDir()
	netlist, out := filepath.Join(dir, "loop.cir"), filepath.Join(dir, "out.txt")
	sender := "switch"
	if c.phototransistor {
		sender = "phototransistor"
	}
	var text bytes.Buffer
	err := template.Must(template.ParseFiles(filepath.Join("testdata", "loop.cir"))).Execute(&text, map[string]any{
		"Neutral": c.neutral, "SupplyWave": c.supplyWave(), "Negative": c.supply < 0, "Sender": sender,
		"RFeed": c.feedR, "ROther": c.otherR, "HalfCable": c.cable / 2, "JointAndCopper": c.joint + 0.5, "Leak": c.leak, "Live": c.live, "AtFeed": c.atFeed,
		"FeedDrive": drive(feed), "OtherDrive": drive(other), "Seconds": states[len(states)-1].to,
		"Step": c.step, "Out": out,
	})
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(netlist, text.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	said := runProgram(t, "ngspice", "-b", netlist)
	w := &waveform{loopCircuit: c, states: states}
	w.read(t, out, said)
	return w
}

// read reads what wrdata wrote: a line of names, then time and volts in lines.
func (w *waveform) read(t *testing.T, name, said string) {
	t.Helper()
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatalf("ngspice wrote nothing: %v\n%s", err, said)
	}
	for line := range strings.Lines(string(text)) {
		f := strings.Fields(line)
		if len(f) != 2 || f[0] == "time" {
			continue
		}
		at, err1 := strconv.ParseFloat(f[0], 64)
		v, err2 := strconv.ParseFloat(f[1], 64)
		if err1 != nil || err2 != nil {
			t.Fatalf("%s: expected time and volts, found %q", name, line)
		}
		if n := len(w.at); n > 0 && at <= w.at[n-1] {
			continue // nine digits tell no more
		}
		w.at, w.volts = append(w.at, at), append(w.volts, v)
	}
	end := w.states[len(w.states)-1].to
	if n := len(w.at); n < 100 || math.Abs(w.at[n-1]-end) > 1e-6 {
		t.Fatalf("ngspice stopped early: %d steps, the last at %v of %g s\n%s", n, slices.Max(append(w.at, 0)), end, said)
	}
}
