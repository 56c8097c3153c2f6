package csvfile

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"testing"

	"linewitness/capture"
)

func levels(rows int) []byte {
	var b bytes.Buffer
	b.WriteString("time_s,level\n")
	for i := range rows {
		t := i*104_167 + i*7919%211
		fmt.Fprintf(&b, "%d.%09d,%d\n", t/1e9, t%1e9, i&1)
	}
	return b.Bytes()
}

func samples(rows int) []byte {
	var b bytes.Buffer
	b.WriteString("time_s,volts\n")
	for i := range rows {
		fmt.Fprintf(&b, "%d.%05d,%.3f\n", i/100_000, i%100_000, 12+float64(i*7919%1000)/100)
	}
	return b.Bytes()
}

// go test -run '^$' -bench BenchmarkReader -count 6 ./capture/csvfile
func BenchmarkReader(b *testing.B) {
	for _, c := range []struct {
		name string
		data []byte
	}{
		{"rows=levels", levels(1_000_000)},
		{"rows=volts", samples(1_000_000)},
		{"rows=quoted", bytes.ReplaceAll(levels(200_000), []byte(","), []byte(`,"0",`))},
	} {
		data := c.data
		if c.name == "rows=quoted" {
			data = bytes.Replace(data, []byte(`"0"`), []byte("other"), 1)
		}
		b.Run(c.name, func(b *testing.B) {
			b.SetBytes(int64(len(data)))
			b.ReportAllocs()
			var block capture.Block
			for b.Loop() {
				r, err := Open(bytes.NewReader(data), "bench", Options{})
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
