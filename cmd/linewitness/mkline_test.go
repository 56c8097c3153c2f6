package main

import (
	"bytes"
	"encoding/hex"
	"flag"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"linewitness/capture/wav"
	"linewitness/decode/uart"
)

// talk is a dialogue to put on a line: polls, and replies that begin a turn-around later.
type talk struct {
	speed        float64
	format       uart.Format
	period, turn time.Duration
	times        int
	poll, reply  []byte // an empty reply: nobody answers
	rate         int64  // of volts, samples a second
	full         float64
}

// mkline is the script command `mkline [OPTION]... FILE POLL [REPLY]`: it writes a recording of a dialogue, octets in
// hex, as VCD or CSV by the file's ending; as .wav or .volts.csv it is the volts of a 24 V loop that the one who answers feeds.
func mkline(ts *testscript.TestScript, neg bool, args []string) {
	set := flag.NewFlagSet("mkline", flag.ContinueOnError)
	set.SetOutput(io.Discard)
	k := talk{}
	format := set.String("format", "8N1", "")
	set.Float64Var(&k.speed, "speed", 9600, "")
	set.DurationVar(&k.period, "period", 100*time.Millisecond, "")
	set.DurationVar(&k.turn, "turn", 10*time.Millisecond, "")
	set.IntVar(&k.times, "times", 40, "")
	set.Int64Var(&k.rate, "rate", 100000, "")
	set.Float64Var(&k.full, "full", 40, "")
	if err := set.Parse(args); err != nil || neg || set.NArg() < 2 {
		ts.Fatalf("usage: mkline [OPTION]... FILE POLL [REPLY] (%v)", err)
	}
	var err error
	k.format, err = uart.ParseFormat(*format)
	ts.Check(err)
	k.poll, err = hex.DecodeString(set.Arg(1))
	ts.Check(err)
	k.reply, err = hex.DecodeString(set.Arg(2))
	ts.Check(err)
	text := k.vcd
	switch name := set.Arg(0); {
	case strings.HasSuffix(name, ".volts.csv"):
		text = k.voltsCSV
	case strings.HasSuffix(name, ".csv"):
		text = k.csv
	case strings.HasSuffix(name, ".wav"):
		text = func() []byte { return k.wav(ts) }
	}
	ts.Check(os.WriteFile(ts.MkAbs(set.Arg(0)), text(), 0o666))
}

type change struct {
	ns    int64
	level byte
	reply bool
}

// changes are the level changes after a first mark, and where the recording ends.
func (k *talk) changes() (all []change, end int64) {
	level, reply := byte(1), false
	enter := func(at float64, to byte) {
		if to != level {
			all = append(all, change{int64(at + 0.5), to, reply})
			level = to
		}
	}
	bit := 1e9 / k.speed
	send := func(at float64, octets []byte) float64 {
		for _, o := range octets {
			enter(at, 0)
			n, ones := 1, 0
			for i := range int(k.format.DataBits) {
				b := o >> i & 1
				ones += int(b)
				enter(at+float64(n)*bit, b)
				n++
			}
			switch k.format.Parity {
			case uart.ParityEven:
				enter(at+float64(n)*bit, byte(ones&1))
			case uart.ParityOdd:
				enter(at+float64(n)*bit, byte(1-ones&1))
			}
			enter(at+float64(k.format.Bits())*bit, 1)
			at += k.format.Length() * bit
		}
		return at
	}
	for i := range k.times {
		reply = false
		at := send(float64(k.period.Nanoseconds())*(float64(i)+0.5), k.poll)
		if len(k.reply) > 0 {
			reply = true
			send(at+float64(k.turn.Nanoseconds()), k.reply)
		}
	}
	return all, k.period.Nanoseconds() * int64(k.times+1)
}

func (k *talk) vcd() []byte {
	var b bytes.Buffer
	b.WriteString("$timescale 1 ns $end\n$scope module room4 $end\n$var wire 1 ! line $end\n$upscope $end\n$enddefinitions $end\n#0\n$dumpvars\n1!\n$end\n")
	all, end := k.changes()
	for _, c := range all {
		fmt.Fprintf(&b, "#%d\n%d!\n", c.ns, c.level)
	}
	fmt.Fprintf(&b, "#%d\n", end)
	return b.Bytes()
}

func (k *talk) csv() []byte {
	var b bytes.Buffer
	b.WriteString("time_s,level\n0,1\n")
	all, end := k.changes()
	last := byte(1)
	for _, c := range all {
		fmt.Fprintf(&b, "%d.%09d,%d\n", c.ns/1e9, c.ns%1e9, c.level)
		last = c.level
	}
	fmt.Fprintf(&b, "%d.%09d,%d\n", end/1e9, end%1e9, last)
	return b.Bytes()
}

// volts are those at the terminals, with a trace of noise: mark 12 V, 24 V while the one who asks is open, 0.2 V while the other is.
func (k *talk) volts() (all []float64) {
	changes, end := k.changes()
	v, noise := 12.0, uint32(1)
	for i := int64(0); ; i++ {
		ns := i * 1e9 / k.rate
		if ns >= end {
			return all
		}
		for len(changes) > 0 && changes[0].ns <= ns {
			switch c := changes[0]; {
			case c.level == 1:
				v = 12
			case c.reply:
				v = 0.2
			default:
				v = 24
			}
			changes = changes[1:]
		}
		noise = noise*1664525 + 1013904223
		all = append(all, v+0.1*(float64(noise>>16)/65536-0.5))
	}
}

func (k *talk) voltsCSV() []byte {
	var b bytes.Buffer
	b.WriteString("time_s,volts\n")
	for i, v := range k.volts() {
		ns := int64(i) * 1e9 / k.rate
		fmt.Fprintf(&b, "%d.%09d,%.3f\n", ns/1e9, ns%1e9, v)
	}
	return b.Bytes()
}

func (k *talk) wav(ts *testscript.TestScript) []byte {
	var b bytes.Buffer
	w, err := wav.NewWriter(&b, wav.Format{Rate: k.rate, Bits: 16, FullScale: k.full})
	ts.Check(err)
	ts.Check(w.Write(k.volts()))
	ts.Check(w.Close())
	return b.Bytes()
}
