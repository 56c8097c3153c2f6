package main

import (
	"bytes"
	"context"
	"errors"
	"strings"
	"testing"
	"time"
)

func fakeStage(name string, cheap bool, err error) stage {
	return stage{name: name, title: "as told", cheap: cheap, limit: time.Minute,
		run: func(context.Context, *job) error { return err }}
}

// runFakes runs stages and returns the exit status and both outputs in one.
func runFakes(ctx context.Context, total time.Duration, list ...stage) (int, string) {
	var out bytes.Buffer
	j := &job{stdout: &out, stderr: &out, withoutOutside: true}
	return runStages(ctx, j, list, total), out.String()
}

func TestStagesAllPass(t *testing.T) {
	last := fakeStage("plain", false, nil)
	last.last = true
	last.run = func(_ context.Context, j *job) error {
		_, err := j.stdout.Write([]byte("ok  \tm/a\t0.1s\n"))
		return err
	}
	code, out := runFakes(t.Context(), time.Minute, fakeStage("vet", true, nil), last)
	if code != 0 {
		t.Errorf("got exit status %d, want 0", code)
	}
	if !strings.HasSuffix(out, "ok  \tm/a\t0.1s\n") {
		t.Errorf("the last stage's own lines do not close the output:\n%s", out)
	}
	if strings.Count(out, "outside checks were left out") != 1 || strings.Count(out, "stage          result") != 1 {
		t.Errorf("want one table and one warning in\n%s", out)
	}
}

func TestStagesStopAtFailure(t *testing.T) {
	bad := errors.New("oh no")
	code, out := runFakes(t.Context(), time.Minute,
		fakeStage("format", true, bad), fakeStage("vet", true, nil), fakeStage("imports", true, bad), fakeStage("tests", false, nil))
	if code != 1 {
		t.Errorf("got exit status %d, want 1", code)
	}
	for _, want := range []string{
		"format FAILED after", "oh no", "== 2 of 4, vet", "verify: failed: format\n",
		"verify: failed as well: imports\n", "tests          not run\n",
	} {
		if !strings.Contains(out, want) {
			t.Errorf("no %q in\n%s", want, out)
		}
	}
	if strings.Contains(out, "== 4 of 4") {
		t.Errorf("tests ran after a failure:\n%s", out)
	}
}

func TestStagesLimits(t *testing.T) {
	hang := fakeStage("race", false, nil)
	hang.run = func(ctx context.Context, _ *job) error { <-ctx.Done(); return errors.New("signal: interrupt") }

	hang.limit = time.Millisecond
	if code, out := runFakes(t.Context(), time.Minute, hang); code != 1 || !strings.Contains(out, "not done after 1ms, the stage's limit") {
		t.Errorf("stage's limit: got exit status %d and\n%s", code, out)
	}
	hang.limit = time.Minute
	code, out := runFakes(t.Context(), time.Millisecond, hang, fakeStage("fuzz", true, nil))
	if code != 1 || !strings.Contains(out, "the whole run is not done after 1ms") || strings.Contains(out, "== 2 of 2") {
		t.Errorf("run's limit: got exit status %d and\n%s", code, out)
	}
}

func TestStagesInterrupted(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	stop := fakeStage("tests", false, nil)
	stop.run = func(context.Context, *job) error { cancel(); return errors.New("signal: interrupt") }
	if code, out := runFakes(ctx, time.Minute, stop, fakeStage("fuzz", true, nil)); code != 130 || !strings.Contains(out, "interrupted in stage tests") {
		t.Errorf("got exit status %d and\n%s", code, out)
	}
}

func TestRunUsage(t *testing.T) {
	tests := []struct {
		args       string
		code       int
		out, errIn string
	}{
		{"--help", 0, "Usage:", ""},
		{"--list", 0, "prerequisites", ""},
		{"--stage nonsense", 2, "", `no stage is called "nonsense"`},
		{"--nonsense", 2, "", "not defined: -nonsense"},
	}
	for _, tt := range tests {
		var out, errOut bytes.Buffer
		code := run(t.Context(), strings.Fields(tt.args), &out, &errOut)
		if code != tt.code || !strings.Contains(out.String(), tt.out) || !strings.Contains(errOut.String(), tt.errIn) {
			t.Errorf("%s: got exit status %d, output %q, error output %q", tt.args, code, &out, &errOut)
		}
		if tt.code == 2 && strings.Count(errOut.String(), "\n") != 1 {
			t.Errorf("%s: want one line of error output, got %q", tt.args, &errOut)
		}
	}
	if n := strings.Count(usage, "\n"); n > 24 {
		t.Errorf("the help has %d lines and leaves the screen", n)
	}
}
