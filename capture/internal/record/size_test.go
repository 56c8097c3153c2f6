package record_test

import (
	"math"
	"testing"

	"linewitness/capture"
	"linewitness/capture/internal/record"
)

// What records take, header included: the promise is 2 bytes a transition on ordinary traffic at 9600 Bd.
func TestRecordsAreSmall(t *testing.T) {
	t.Parallel()
	three := telegraph(4096, 9600, 0.002)
	for i := range three.To {
		three.To[i] = capture.Mid
		if i%2 == 0 {
			three.To[i] = capture.Low + 2*capture.Level(i/100%2)
		}
	}
	three.First = capture.Mid
	bias := telegraph(4096, 9600, 0.002)
	for i := range bias.At {
		bias.At[i] += capture.Tick(i&1) * 20000
	}
	bias.End += 20000
	still := codes(4096, 16)
	for i := range still.Volts {
		still.Volts[i] = 11.7
	}
	decimal := codes(4096, 16)
	for i, v := range decimal.Volts {
		decimal.Volts[i] = math.Round(v*1000) / 1000
	}
	for name, c := range map[string]struct {
		b    *capture.Block
		n    int
		most float64 // bytes an element
	}{
		"9600 Bd, 0.2 %":               {telegraph(4096, 9600, 0.002), 4096, 1.65},
		"9600 Bd, 0.2 %, three levels": {three, 4096, 1.8},
		"9600 Bd, 0.2 %, 19 % bias":    {bias, 4096, 1.65},
		"9600 Bd, 64 transitions":      {telegraph(64, 9600, 0.002), 64, 2.5},
		"1200 Bd, exact":               {telegraph(4096, 1200, 0), 4096, 0.75},
		"16 bit":                       {codes(4096, 16), 4096, 1.5},
		"24 bit":                       {codes(4096, 24), 4096, 2.5},
		"three decimals":               {decimal, 4096, 1.5},
		"still":                        {still, 4096, 0.05},
	} {
		records, _ := encode(t, 0, c.b, len(c.b.At) > 0)
		sum := 0
		for _, p := range records {
			sum += len(p)
		}
		if got := float64(sum) / float64(c.n); got > c.most {
			t.Errorf("%s: %.3f bytes each, want at most %.3f", name, got, c.most)
		}
	}
}

// Steady state: nothing is allocated to decode, and no more than the header that each gets to encode.
func TestNothingIsAllocated(t *testing.T) {
	for name, b := range map[string]*capture.Block{
		"levels": telegraph(4096, 9600, 0.01), "volts": codes(4096, 16), "all": large(100, 100, 100, true, true),
	} {
		records, _ := encode(t, 0, b, len(b.At) > 0)
		var back capture.Block
		decode := func() {
			for _, p := range records {
				h, body, err := record.Parse(p)
				if err == nil {
					err = record.DecodeInto(&h, body, &back)
				}
				if err != nil {
					t.Fatal(err)
				}
			}
		}
		decode()
		if n := testing.AllocsPerRun(20, decode); n > 0 {
			t.Errorf("%s: %v allocations to decode", name, n)
		}
		var scratch []byte
		n := testing.AllocsPerRun(20, func() {
			_, err := record.AppendBlock(scratch, 0, b, len(b.At) > 0, func(p []byte, _ *record.Header) error { scratch = p[:0]; return nil })
			if err != nil {
				t.Fatal(err)
			}
		})
		if n > float64(len(records)) {
			t.Errorf("%s: %v allocations to encode %d records", name, n, len(records))
		}
	}
}
