package verdict_test

import (
	"testing"

	"linewitness/capture"
	"linewitness/decode/check"
	"linewitness/decode/verdict"
)

// go test ./decode/verdict -run ^$ -bench Judge -benchmem
func BenchmarkJudge(b *testing.B) {
	open, err := check.ParseReading("S-N@indoor=dc:steady:0.1V")
	if err != nil {
		b.Fatal(err)
	}
	high, err := check.ParseReading("S-N@outdoor=dc:steady:24V")
	if err != nil {
		b.Fatal(err)
	}
	for _, c := range []struct {
		name     string
		readings []check.Reading
	}{{"traffic", nil}, {"two readings", []check.Reading{open, high}}} {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				j := verdict.Judge(verdict.Input{Tap: capture.LoopCurrent, Readings: c.readings, Bare: true})
				all := make([]check.Candidate, len(j.Candidates))
				for i, k := range j.Candidates {
					all[i] = check.Candidate{Cause: k.Cause, Side: k.Side.String(), Probability: k.Probability}
				}
				j.About.Next(all, "loop-current")
			}
		})
	}
}
