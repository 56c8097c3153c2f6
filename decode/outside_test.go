package decode_test

import (
	"context"
	"errors"
	"io"
	"iter"
	"math"
	"os"
	"os/exec"
	"testing"
	"time"

	"linewitness/capture"
	"linewitness/decode"
	"linewitness/decode/link"
)

// withoutOutside says in the environment that checks against other programs are to be skipped.
const withoutOutside = "LINEWITNESS_WITHOUT_OUTSIDE_CHECKS"

// patience bounds every run of another program.
const patience = 60 * time.Second

// needs fails the test where a program is missing, unless outside checks are off.
func needs(t *testing.T, programs ...string) {
	t.Helper()
	if os.Getenv(withoutOutside) == "1" {
		t.Skipf("%s=1: not checked against %v", withoutOutside, programs)
	}
	for _, p := range programs {
		if _, err := exec.LookPath(p); err != nil {
			t.Fatalf("%s is needed for this check: install it, or set %s=1 (%v)", p, withoutOutside, err)
		}
	}
}

// runProgram runs a program to its end.
func runProgram(t *testing.T, name string, args ...string) string {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), patience)
	defer cancel()
	cmd := exec.CommandContext(ctx, name, args...)
	cmd.WaitDelay = time.Second
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%s %v: %v\n%s", name, args, err, out)
	}
	return string(out)
}

// kept is a frame that outlives the call it was shown in.
type kept struct {
	link.Frame
	faults int // characters that break their format
}

// examineFrames learns and examines a whole recording, and keeps its frames.
func examineFrames(t *testing.T, src capture.Source) (*decode.Finding, []kept) {
	t.Helper()
	var frames []kept
	f, err := decode.Run(t.Context(), src, nil, decode.Options{Frames: func(r *link.Frame) {
		k := kept{Frame: *r}
		k.Values, k.Chars = append([]uint16(nil), r.Values...), nil
		for i := range r.Chars {
			if r.Chars[i].Fault != 0 {
				k.faults++
			}
		}
		frames = append(frames, k)
	}})
	if err != nil {
		t.Fatal(err)
	}
	return f, frames
}

// blocks gives a source block by block, each valid until the next.
func blocks(t *testing.T, src capture.Source) iter.Seq[*capture.Block] {
	return func(yield func(*capture.Block) bool) {
		var b capture.Block
		for {
			err := src.Next(&b)
			if errors.Is(err, io.EOF) {
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			if !yield(&b) {
				return
			}
		}
	}
}

// ppm is how far got is from want in parts per million.
func ppm(got, want float64) float64 { return (got/want - 1) * 1e6 }

// near tells whether two figures agree within a tolerance; NaN agrees with nothing.
func near(got, want, tolerance float64) bool { return math.Abs(got-want) <= tolerance }
