package decode_test

import (
	"math"
	"testing"

	"linewitness/capture"
	"linewitness/capture/capturetest"
	"linewitness/decode"
	"linewitness/decode/uart/uarttest"
	"linewitness/decode/validate"
)

// shaky is a dialogue whose senders jitter by so much of the unit interval and lengthen marks by bias.
func shaky(talk loopTalk, jitter, bias float64) loopTalk {
	return func(s uarttest.Sender, feed, other *uarttest.Wire) {
		s.Jitter, s.Bias = jitter, bias
		talk(s, feed, other)
	}
}

// Jitter and bias that the senders of a circuit have by their plan come back from the volts that ngspice computed: the interval of a
// sender's jitter comes within a tenth of what it has by its plan, or of that with the recorder's own share: samples stand 1/21 of a bit apart,
// between which a sharp edge is placed with a standard deviation of 1/sqrt(12) of that at most. Nothing else is called jitter.
func TestJitterFactsAgreeWithCircuitSimulator(t *testing.T) {
	t.Parallel()
	needs(t, "ngspice")
	const rate, speed = 50e3, 2400
	for _, c := range []struct{ jitter, bias float64 }{{0, 0}, {0.03, -0.06}, {0.05, 0.08}} {
		w := runLoop(t, loopCircuit{speed: speed, talk: shaky(dialogue(24), c.jitter, c.bias)})
		f := find(t, capturetest.Pieces(w.info(rate), w.sample(rate, 0.020), 4096), decode.Options{Tap: capture.IndoorTerminal})
		sampled := speed / rate / math.Sqrt(12)
		seen := 0
		for i := range f.Facts {
			x := &f.Facts[i]
			if !x.Measured() {
				continue
			}
			switch x.ID {
			case "time.random":
				seen++
				most := math.Hypot(c.jitter, sampled)
				if x.High/100 < 0.9*c.jitter-0.002 || x.Low/100 > 1.1*most+0.002 || x.N < 12 {
					t.Errorf("jitter %g: %s of %v is %.2f %% (%.2f to %.2f, %d frames), want %.2f to %.2f", c.jitter, x.ID, x.Side, x.Value, x.Low, x.High, x.N,
						100*c.jitter, 100*most)
				}
			case "time.bias":
				seen++
				if !near(x.Value/100, c.bias, 0.005+c.jitter/5) {
					t.Errorf("bias %g: %v has %.2f %%", c.bias, x.Side, x.Value)
				}
			case "time.pattern-after-marks", "time.pattern-after-spaces", "time.mains-locked":
				if x.P < 0.01 {
					t.Errorf("jitter %g: %s of %v: %.2f %%, p %v, and nothing of the kind was sent", c.jitter, x.ID, x.Side, x.Value, x.P)
				}
			}
		}
		if seen != 4 {
			t.Errorf("jitter %g: %d facts of two senders, want 4: %v", c.jitter, seen, factIDs(f.Facts))
		}
	}
}

func factIDs(facts []validate.Fact) (ids []string) {
	for i := range facts {
		if facts[i].Measured() {
			ids = append(ids, facts[i].ID)
		}
	}
	return ids
}
