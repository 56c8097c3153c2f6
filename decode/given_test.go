package decode_test

import (
	"testing"

	"linewitness/capture"
	"linewitness/capture/capturetest"
	"linewitness/decode"
	"linewitness/decode/checksum"
	"linewitness/decode/link"
	"linewitness/decode/uart"
	"linewitness/decode/uart/uarttest"
)

// heron is the link that talk speaks, as a description has it.
func heron(t *testing.T) *link.Profile {
	t.Helper()
	sum, err := checksum.Parse("sum8-twos-complement")
	if err != nil {
		t.Fatal(err)
	}
	return &link.Profile{
		Name: "Heron", Kind: link.Loop3, Line: uart.Line{Speed: 1200, Format: uart.Format{DataBits: 8, Parity: uart.ParityEven, StopHalfs: 2}},
		Framing:  link.Framing{Gap: 0.014},
		Checksum: &checksum.Spec{Sum: sum, To: -1, At: -1},
		Timing:   link.Timing{PollPeriod: 0.4, TurnaroundMax: 0.06, TwoTalkers: true}, Controller: capture.Indoor, Responder: capture.Outdoor,
	}
}

func examine(t *testing.T, src capture.Source, p *link.Profile, opt decode.Options) *decode.Finding {
	t.Helper()
	f, err := decode.Run(t.Context(), src, p, opt)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// A described link is read at every tap, with the sides as described; it is the caller's and stays as it is.
func TestDescribedLink(t *testing.T) {
	t.Parallel()
	loop := (&talk{seed: 1, polls: 50}).inVolts(capturetest.Loop{Place: 0.45, Noise: 0.1})
	levels := func() capture.Source { return (&talk{seed: 1, polls: 50}).wire().Source(4096) }
	for _, c := range []struct {
		name string
		src  capture.Source
		tap  capture.Tap
		want capture.Tap
	}{
		{"volts", loopSource(loop, 1000), capture.IndoorTerminal, capture.IndoorTerminal},
		{"volts, tap not said", loopSource(loop, 1000), capture.TapUnknown, capture.IndoorTerminal},
		{"current", levels(), capture.LoopCurrent, capture.LoopCurrent},
		{"tap not said", levels(), capture.TapUnknown, capture.LoopCurrent},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := heron(t)
			f := examine(t, c.src, p, decode.Options{Tap: c.tap})
			if f.Link == nil || f.Link.Learned || f.Link.Name != "Heron" || f.Recording.Tap != c.want {
				t.Fatalf("link %+v, tap %v", f.Link, f.Recording.Tap)
			}
			for i, want := range []capture.Side{capture.Indoor, capture.Outdoor} {
				if s := &f.Senders[i]; s.Side != want || s.Frames != 50 || s.Good != 50 {
					t.Errorf("%v: %d frames, %d good; want %v with 50", s.Side, s.Frames, s.Good, want)
				}
			}
			if v := f.Verdict.String(); v != "none/none" {
				t.Errorf("verdict %s: %s", v, f.Verdict.Summary)
			}
			if p.Spaces != 0 || p.Line.Mid || p.Feed != capture.SideUnknown {
				t.Errorf("the description was changed: %+v", p)
			}
		})
	}
}

// A silent line is no sound one, whatever its description says.
func TestDescribedSilence(t *testing.T) {
	t.Parallel()
	w := &uarttest.Wire{Clock: capture.Nanoseconds}
	w.Idle(30)
	quiet := &capturetest.Loop{Rate: 12000, Seconds: 10, Place: 0.45, Noise: 0.1}
	for name, src := range map[string]capture.Source{"levels": w.Source(4096), "volts": loopSource(quiet, 1000)} {
		f := examine(t, src, heron(t), decode.Options{})
		if f.Link == nil || !f.Verdict.Undetermined {
			t.Errorf("%s: link %v, verdict %s: %s", name, f.Link, f.Verdict, f.Verdict.Summary)
		}
	}
}
