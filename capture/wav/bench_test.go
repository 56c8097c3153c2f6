package wav_test

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"testing"

	"linewitness/capture"
	"linewitness/capture/wav"
)

const benchSamples = 1 << 20

func sine() []float64 {
	volts := make([]float64, benchSamples)
	for i := range volts {
		volts[i] = 12 + 11*math.Sin(float64(i)/7)
	}
	return volts
}

func name(f wav.Format) string {
	if f.Float {
		return fmt.Sprintf("format=float%d", f.Bits)
	}
	return fmt.Sprintf("format=pcm%d", f.Bits)
}

// go test -run '^$' -bench . -count 6 ./capture/wav
func BenchmarkReader(b *testing.B) {
	volts := sine()
	for _, f := range formats {
		f.Rate, f.FullScale = 48000, 24
		var data bytes.Buffer
		w, err := wav.NewWriter(&data, f)
		if err != nil {
			b.Fatal(err)
		}
		if err := errors.Join(w.Write(volts), w.Close()); err != nil {
			b.Fatal(err)
		}
		b.Run(name(f), func(b *testing.B) { read(b, data.Bytes(), wav.Options{FullScale: 24}) })
	}
	stereo := riff(form(1, 2, 48000, 4, 16), declared("data", math.MaxUint32, string(make([]byte, 4*benchSamples))))
	b.Run("format=pcm16x2", func(b *testing.B) { read(b, []byte(stereo), wav.Options{FullScale: 24, Channel: 2}) })
}

func read(b *testing.B, data []byte, opt wav.Options) {
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	var block capture.Block
	samples := 0
	for b.Loop() {
		r, err := wav.Open(bytes.NewReader(data), "bench", opt)
		for err == nil {
			if err = r.Next(&block); err == nil {
				samples += len(block.Volts)
			}
		}
		if !errors.Is(err, io.EOF) {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(samples)/b.Elapsed().Seconds()/1e6, "Msamples/s")
}

func BenchmarkWriter(b *testing.B) {
	volts := sine()
	for _, f := range formats {
		f.Rate, f.FullScale = 48000, 24
		b.Run(name(f), func(b *testing.B) {
			b.SetBytes(int64(benchSamples * f.Bits / 8))
			b.ReportAllocs()
			for b.Loop() {
				w, err := wav.NewWriter(io.Discard, f)
				if err != nil {
					b.Fatal(err)
				}
				if err := errors.Join(w.Write(volts), w.Close()); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.N)*benchSamples/b.Elapsed().Seconds()/1e6, "Msamples/s")
		})
	}
}
