//go:build unix

package main

import (
	"bytes"
	"context"
	"io"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// TestInterruptReachesGrandchildren stops a shell that waits for a child of
// its own, both deaf to the interrupt, as a hanging test under the go command
// may be. The grandchild holds a named pipe, which ends when it dies.
func TestInterruptReachesGrandchildren(t *testing.T) {
	dir := t.TempDir()
	pipe := filepath.Join(dir, "alive")
	if err := syscall.Mkfifo(pipe, 0o600); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	gone := make(chan error, 1)
	go func() {
		f, err := os.Open(pipe) // returns once the grandchild has opened it
		cancel()
		if err == nil {
			_, err = io.Copy(io.Discard, f)
			f.Close()
		}
		gone <- err
	}()
	var out bytes.Buffer
	j := &job{root: dir, killDelay: 100 * time.Millisecond}
	if err := j.stream(ctx, &out, &out, "sh", "-c", `trap "" INT; sleep 300 >alive & wait`); err == nil {
		t.Error("an interrupted command gave no error")
	}
	select {
	case err := <-gone:
		if err != nil {
			t.Error(err)
		}
	case <-time.After(20 * time.Second):
		t.Errorf("the grandchild still runs; output %q", &out)
	}
}

func TestQuietShowsFailures(t *testing.T) {
	var out bytes.Buffer
	j := &job{root: t.TempDir(), stdout: &out, stderr: &out}
	if err := j.quiet(t.Context(), "sh", "-c", "echo heard"); err != nil || strings.Contains(out.String(), "\nheard") {
		t.Errorf("success: got %v and %q", err, &out)
	}
	if err := j.quiet(t.Context(), "sh", "-c", "echo heard; exit 3"); err == nil || !strings.Contains(out.String(), "\nheard\n") {
		t.Errorf("failure: got %v and %q", err, &out)
	}
}
