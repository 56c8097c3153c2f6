package vcd

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"testing"

	"linewitness/capture"
)

const benchHeader = "$timescale 1 ns $end\n$scope module top $end\n"

// oneNet is a busy line: a change every 104 us with jitter.
func oneNet(changes int) []byte {
	var b bytes.Buffer
	b.WriteString(benchHeader + "$var wire 1 ! s $end\n$upscope $end\n$enddefinitions $end\n#0\n$dumpvars\n0!\n$end\n")
	t := 1_000_000_000
	for i := range changes {
		t += 104_167 + i*7919%211
		fmt.Fprintf(&b, "#%d\n%d!\n", t, (i+1)&1)
	}
	return b.Bytes()
}

// manyNets has the line among 500 other nets, vectors and reals too, that change ten times as often.
func manyNets(changes int) []byte {
	var b bytes.Buffer
	b.WriteString(benchHeader + "$var wire 1 ! s $end\n")
	for i := range 500 {
		fmt.Fprintf(&b, "$var %s %s n%d $end\n", [3]string{"wire 1", "reg 8", "integer 32"}[i%3], otherCode(i), i)
	}
	b.WriteString("$upscope $end\n$enddefinitions $end\n#0\n0!\n")
	t := 0
	for i := range changes {
		for j := range 10 {
			t += 10_417
			k := (i*13 + j*7) % 500
			if k%3 == 0 {
				fmt.Fprintf(&b, "#%d\n%d%s\n", t, i&1, otherCode(k))
			} else {
				fmt.Fprintf(&b, "#%d\nb%b %s\n", t, k, otherCode(k))
			}
		}
		fmt.Fprintf(&b, "%d!\n", (i+1)&1)
	}
	return b.Bytes()
}

func otherCode(i int) string { return string([]byte{byte('#' + i%80), byte('!' + i/80)}) }

// reals is a line sampled at 100 kHz.
func reals(samples int) []byte {
	var b bytes.Buffer
	b.WriteString(benchHeader + "$var real 64 ! v $end\n$upscope $end\n$enddefinitions $end\n")
	for i := range samples {
		fmt.Fprintf(&b, "#%d\nr%.4g !\n", i*10_000, 12+float64(i*7919%1000)/100)
	}
	return b.Bytes()
}

// go test -run '^$' -bench BenchmarkReader -count 6 ./capture/vcd
func BenchmarkReader(b *testing.B) {
	for _, c := range []struct {
		name string
		data []byte
		net  string
	}{
		{"nets=1", oneNet(1_000_000), ""},
		{"nets=501", manyNets(50_000), "s"},
		{"nets=real", reals(500_000), ""},
	} {
		b.Run(c.name, func(b *testing.B) {
			b.SetBytes(int64(len(c.data)))
			b.ReportAllocs()
			var block capture.Block
			for b.Loop() {
				r, err := Open(bytes.NewReader(c.data), "bench", Options{Net: c.net})
				for err == nil {
					err = r.Next(&block)
				}
				if !errors.Is(err, io.EOF) {
					b.Fatal(err)
				}
			}
		})
	}
}
