package main

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

func longTalk(times int) []byte {
	k := talk{speed: 9600, period: 100 * time.Millisecond, turn: 10 * time.Millisecond, times: times,
		poll: []byte{0x11, 0x03, 0x00, 0x7C, 0x00, 0x02, 0x07, 0x43}, reply: []byte{0x11, 0x03, 0x04, 0x00, 0x8D, 0x00, 0x8E, 0xFB, 0xBD}}
	k.format.DataBits, k.format.StopHalfs = 8, 2
	return k.vcd()
}

// What was read until an interruption is examined and written out, the frames file too.
func TestInterrupted(t *testing.T) {
	frames := filepath.Join(t.TempDir(), "out.jsonl")
	ctx, interrupt := context.WithCancel(t.Context())
	in, feed := io.Pipe()
	var out, errs bytes.Buffer
	ended := make(chan int)
	go func() { ended <- run(ctx, []string{"examine", "--json", "--frames", frames, "-"}, in, &out, &errs) }()
	// A pipe hands over in the same call: once Write returns, the command has all of it.
	if _, err := feed.Write(longTalk(300)); err != nil {
		t.Fatal(err)
	}
	interrupt()
	if got := <-ended; got != 130 {
		t.Errorf("exit status %d, want 130; standard error: %s", got, &errs)
	}
	if !strings.HasPrefix(out.String(), `{"schema":"linewitness/finding/1"`) || strings.Contains(out.String(), `"transitions":0,`) {
		t.Errorf("standard output: %.300s", &out)
	}
	if b, err := os.ReadFile(frames); err != nil || !bytes.Contains(b, []byte(`"hex":"1103007C00020743"`)) {
		t.Errorf("frames: %v, %.200s", err, b)
	}
	if errs.Len() > 0 {
		t.Errorf("standard error: %s", &errs)
	}
	feed.Close()
}

// Interrupted before anything came: nothing to write out, nothing left behind.
func TestInterruptedAtOnce(t *testing.T) {
	dir := t.TempDir()
	ctx, interrupt := context.WithCancel(t.Context())
	interrupt()
	in, feed := io.Pipe()
	defer feed.Close()
	var out, errs bytes.Buffer
	if got := run(ctx, []string{"examine", "--frames", filepath.Join(dir, "out.csv"), "-"}, in, &out, &errs); got != 130 {
		t.Errorf("exit status %d, want 130", got)
	}
	if out.Len() > 0 || errs.Len() > 0 {
		t.Errorf("standard output %q, standard error %q", &out, &errs)
	}
	if left, _ := os.ReadDir(dir); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

func TestInterruptedBySignal(t *testing.T) {
	for _, sig := range []os.Signal{os.Interrupt, syscall.SIGTERM} {
		t.Run(sig.String(), func(t *testing.T) {
			self, err := os.Executable()
			if err != nil {
				t.Fatal(err)
			}
			cmd := exec.CommandContext(t.Context(), self, "examine", "--json", "-")
			cmd.Env = append(os.Environ(), asCommand+"=1")
			var out, errs bytes.Buffer
			cmd.Stdout, cmd.Stderr = &out, &errs
			feed, err := cmd.StdinPipe()
			if err != nil {
				t.Fatal(err)
			}
			if err := cmd.Start(); err != nil {
				t.Fatal(err)
			}
			// More than a pipe holds: once it is written, the command reads, and has long asked for signals.
			text := longTalk(3000)
			if len(text) < 1<<19 {
				t.Fatalf("%d bytes are too few", len(text))
			}
			if _, err := feed.Write(text); err != nil {
				t.Fatal(err)
			}
			if err := cmd.Process.Signal(sig); err != nil {
				t.Skip(err) // no such signal here
			}
			err = cmd.Wait()
			var exit *exec.ExitError
			if !errors.As(err, &exit) || exit.ExitCode() != 130 {
				t.Errorf("%v, want exit status 130; standard error: %s", err, &errs)
			}
			if !strings.HasPrefix(out.String(), `{"schema":`) {
				t.Errorf("standard output: %.300s", &out)
			}
		})
	}
}
