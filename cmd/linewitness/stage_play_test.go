package main

import (
	"bytes"
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"linewitness/fixtures/stage"
)

// heard is what came out of a port, and when its bytes came.
type heard struct {
	mu    sync.Mutex
	bytes []byte
	at    []time.Time
}

func (h *heard) listen(f *os.File) {
	var b [256]byte
	for {
		n, err := f.Read(b[:])
		h.mu.Lock()
		for range n {
			h.at = append(h.at, time.Now())
		}
		h.bytes = append(h.bytes, b[:n]...)
		h.mu.Unlock()
		if err != nil {
			return
		}
	}
}

func (h *heard) all() ([]byte, []time.Time) {
	h.mu.Lock()
	defer h.mu.Unlock()
	return bytes.Clone(h.bytes), append([]time.Time(nil), h.at...)
}

// ports makes two joined pseudo-terminals, of which the second is listened to.
func ports(t *testing.T) (name string, h *heard) {
	t.Helper()
	program, err := exec.LookPath("socat")
	if err != nil {
		t.Fatalf("the program socat is missing: %v", err)
	}
	dir := t.TempDir()
	a, b := filepath.Join(dir, "a"), filepath.Join(dir, "b")
	cmd := exec.CommandContext(t.Context(), program, "PTY,raw,echo=0,link="+a, "PTY,raw,echo=0,link="+b)
	cmd.Cancel = func() error { return cmd.Process.Signal(syscall.SIGTERM) }
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { cmd.Wait() }) // ended by the test's context, before its cleanup
	var f *os.File
	for began := time.Now(); ; time.Sleep(10 * time.Millisecond) {
		if _, err = os.Stat(a); err == nil {
			if f, err = os.OpenFile(b, os.O_RDWR|syscall.O_NOCTTY, 0); err == nil {
				break
			}
		}
		if time.Since(began) > 10*time.Second {
			t.Fatalf("no pseudo-terminals within 10 s: %v", err)
		}
	}
	t.Cleanup(func() { f.Close() })
	h = &heard{}
	go h.listen(f)
	return a, h
}

// What a port plays are the octets that the receiver at the tap hears, in their order, none before its time.
func TestPlay(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ scenario, says string }{
		{"late-replies", "late-replies shows as: replies that begin late\n"},
		{"wrong-sums", "bad-checksum shows as: whole characters with a wrong sum\n"},
	} {
		t.Run(c.scenario, func(t *testing.T) {
			t.Parallel()
			s, err := stage.Open(c.scenario)
			if err != nil {
				t.Fatal(err)
			}
			s.Shorten(12)
			ear, err := stage.Hear(t.Context(), s, stage.Options{})
			if err != nil {
				t.Fatal(err)
			}
			port, h := ports(t)
			var out, errs bytes.Buffer
			began := time.Now()
			if got := run(t.Context(), []string{"stage", c.scenario, "--seconds", "12", "--play", port}, nil, &out, &errs); got != 0 {
				t.Fatalf("exit status %d: %s", got, &errs)
			}
			var want []byte
			for _, o := range ear.Octets {
				want = append(want, byte(o.Value))
			}
			var got []byte
			var at []time.Time
			for waited := time.Now(); time.Since(waited) < 10*time.Second; time.Sleep(10 * time.Millisecond) {
				if got, at = h.all(); len(got) >= len(want) {
					break
				}
			}
			if !bytes.Equal(got, want) {
				t.Fatalf("got %d octets % x, want %d % x", len(got), got, len(want), want)
			}
			for i, o := range ear.Octets {
				if early := o.At - at[i].Sub(began).Seconds(); early > 0 {
					t.Fatalf("octet %d came %.3f s before its time", i, early)
				}
			}
			if !strings.Contains(errs.String(), c.says) || !strings.Contains(errs.String(), "octets sent in 12 s\n") || !strings.Contains(errs.String(), "CAUTION: never to a line with a unit on it") || out.Len() > 0 {
				t.Errorf("standard output %q, standard error %q", &out, &errs)
			}
		})
	}
}

// An interrupted play ends at once and says how far it got.
func TestPlayInterrupted(t *testing.T) {
	t.Parallel()
	port, h := ports(t)
	ctx, interrupt := context.WithCancel(t.Context())
	defer interrupt()
	go func() {
		for {
			if got, _ := h.all(); len(got) > 20 || ctx.Err() != nil {
				interrupt()
				return
			}
			time.Sleep(10 * time.Millisecond)
		}
	}()
	var out, errs bytes.Buffer
	if got := run(ctx, []string{"stage", "late-replies", "--play", port}, nil, &out, &errs); got != 130 {
		t.Errorf("exit status %d, want 130: %s", got, &errs)
	}
	if !strings.Contains(errs.String(), "interrupted: ") || !strings.Contains(errs.String(), "octets sent, up to ") || out.Len() > 0 {
		t.Errorf("standard output %q, standard error %q", &out, &errs)
	}
}

// What shows in levels and edges only is refused with the reason, and a port that is none by its name.
func TestPlayRefuses(t *testing.T) {
	t.Parallel()
	port, h := ports(t)
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"--random", "--world", "dc-outdoor", "--cause", "probe-artefact", "--seed", "3", "--seconds", "5", "--play", port}, "a port can show nothing of it: "},
		{[]string{"open-s", "--seconds", "5", "--play", filepath.Join(t.TempDir(), "none")}, "none"},
	} {
		var out, errs bytes.Buffer
		if got := run(t.Context(), append([]string{"stage"}, c.args...), nil, &out, &errs); got != 1 || !strings.Contains(errs.String(), c.want) {
			t.Errorf("%v: exit status %d, standard error %q, want %q", c.args, got, &errs, c.want)
		}
	}
	if got, _ := h.all(); len(got) > 0 {
		t.Errorf("the port was sent % x", got)
	}
}

// Staging that is interrupted leaves no file.
func TestStagingInterrupted(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	ctx, interrupt := context.WithCancel(t.Context())
	time.AfterFunc(300*time.Millisecond, interrupt)
	var out, errs bytes.Buffer
	if got := run(ctx, []string{"stage", "poor-joint", "--seconds", "864000", "-o", filepath.Join(dir, "long.pcapng"), "--truth", filepath.Join(dir, "t.json")}, nil, &out, &errs); got != 130 {
		t.Errorf("exit status %d, want 130: %s", got, &errs)
	}
	if left, _ := os.ReadDir(dir); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}
