package main

import (
	"bytes"
	"io"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

type brokenWriter struct{ err error }

func (w brokenWriter) Write([]byte) (int, error) { return 0, w.err }

// A full disk is said; a reader that went away is not, it knows.
func TestFailedOutput(t *testing.T) {
	rec := filepath.Join(t.TempDir(), "meadow.vcd")
	if err := os.WriteFile(rec, longTalk(20), 0o666); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{
		{"examine", rec, rec}, {"examine", "--json", rec, rec}, {"examine", "--frames", "-", rec, rec}, {"examine", "--list-checks"},
	} {
		for _, c := range []struct {
			err  error
			said int
		}{{syscall.ENOSPC, 1}, {syscall.EPIPE, 0}, {io.ErrClosedPipe, 0}} {
			var errs bytes.Buffer
			got := run(t.Context(), args, strings.NewReader(""), brokenWriter{c.err}, &errs)
			if got != 1 {
				t.Errorf("%v, %v: exit status %d, want 1", args, c.err, got)
			}
			if n := strings.Count(errs.String(), "linewitness: "); n != c.said {
				t.Errorf("%v, %v: said %d times, want %d: %s", args, c.err, n, c.said, &errs)
			}
		}
	}
}
