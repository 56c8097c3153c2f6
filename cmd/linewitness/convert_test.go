package main

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"linewitness/cmd/linewitness/internal/draft"
)

// An interruption leaves nothing behind, and what stood under the target's name.
func TestConvertInterrupted(t *testing.T) {
	dir := t.TempDir()
	out := filepath.Join(dir, "out.csv")
	if err := os.WriteFile(out, []byte("as it was"), 0o666); err != nil {
		t.Fatal(err)
	}
	ctx, interrupt := context.WithCancel(t.Context())
	in, feed := io.Pipe()
	var answers, errs bytes.Buffer
	ended := make(chan int)
	go func() { ended <- run(ctx, []string{"convert", "-", out}, in, &answers, &errs) }()
	if _, err := feed.Write(longTalk(300)); err != nil {
		t.Fatal(err)
	}
	interrupt()
	if got := <-ended; got != 130 {
		t.Errorf("exit status %d, want 130", got)
	}
	feed.Close()
	if answers.Len() > 0 || errs.Len() > 0 {
		t.Errorf("standard output %q, standard error %q", &answers, &errs)
	}
	if b, err := os.ReadFile(out); err != nil || string(b) != "as it was" {
		t.Errorf("target: %.100s, error %v", b, err)
	}
	if left, _ := os.ReadDir(dir); len(left) != 1 {
		t.Errorf("left behind: %v", left)
	}
}

// disk is a draft whose Write takes so many bytes, and whose Commit fails if it is told to.
type disk struct {
	*draft.Draft
	left    int
	err     error
	commits error
}

func (d *disk) Write(p []byte) (int, error) {
	n := min(len(p), d.left)
	d.left -= n
	n, _ = d.Draft.Write(p[:n])
	if n < len(p) {
		return n, d.err
	}
	return n, nil
}

func (d *disk) Commit() error {
	if d.commits != nil {
		return d.commits
	}
	return d.Draft.Commit()
}

// A write that fails, comes short or cannot be completed is reported once and leaves nothing.
func TestConvertToFullDisk(t *testing.T) {
	rec := filepath.Join(t.TempDir(), "bus.vcd")
	if err := os.WriteFile(rec, longTalk(100), 0o666); err != nil {
		t.Fatal(err)
	}
	const room = 1 << 30
	for _, format := range []string{"vcd", "csv"} {
		for _, c := range []struct {
			disk disk
			want string
		}{
			{disk{left: 0, err: syscall.ENOSPC}, format + ": " + syscall.ENOSPC.Error()},
			{disk{left: 70_000, err: syscall.ENOSPC}, format + ": " + syscall.ENOSPC.Error()},
			{disk{left: 70_000}, format + ": short write"},
			{disk{left: room, commits: syscall.EIO}, syscall.EIO.Error()},
		} {
			dir := t.TempDir()
			to := filepath.Join(dir, "out."+format)
			conv := conversion{convertOptions: convertOptions{format: format}, streams: streams{err: io.Discard}, from: rec, to: to}
			conv.create = func() (destination, error) {
				file, err := draft.New(to)
				c.disk.Draft = file
				return &c.disk, err
			}
			err := conv.run(t.Context())
			if err == nil || err.Error() != to+": "+c.want {
				t.Errorf("got %v, want %s", err, c.want)
			}
			if left, _ := os.ReadDir(dir); len(left) > 0 {
				t.Errorf("%s: left behind: %v", c.want, left)
			}
		}
	}
}

// A reader that fails is blamed by its name, and leaves nothing.
func TestConvertFailingInput(t *testing.T) {
	dir := t.TempDir()
	failure := errors.New("cable pulled")
	in, feed := io.Pipe()
	var errs bytes.Buffer
	ended := make(chan int)
	go func() {
		ended <- run(t.Context(), []string{"convert", "-", filepath.Join(dir, "out.vcd")}, in, io.Discard, &errs)
	}()
	if _, err := feed.Write(longTalk(100)); err != nil {
		t.Fatal(err)
	}
	feed.CloseWithError(failure)
	if got := <-ended; got != 1 || !strings.HasPrefix(errs.String(), "linewitness: standard input: ") ||
		!strings.HasSuffix(errs.String(), ": cable pulled\n") {
		t.Errorf("exit status %d, standard error %q", got, &errs)
	}
	if left, _ := os.ReadDir(dir); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}
