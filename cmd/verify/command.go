package main

import (
	"bufio"
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"os/exec"
	"strings"
	"time"
)

// killDelay is how long a child may take to end by itself after the interrupt.
const killDelay = 5 * time.Second

// stream runs a command in the module's folder and waits for it. When ctx
// ends, the command and all that it started get an interrupt and, killDelay
// later, are killed.
func (j *job) stream(ctx context.Context, stdout, stderr io.Writer, name string, args ...string) error {
	if err := context.Cause(ctx); err != nil {
		return err
	}
	cmd := exec.CommandContext(ctx, name, args...)
	cmd.Dir, cmd.Env = j.root, j.env
	cmd.Stdout, cmd.Stderr = stdout, stderr
	cmd.WaitDelay = cmp.Or(j.killDelay, killDelay)
	ownGroup(cmd)
	err := cmd.Run()
	if ctx.Err() != nil && cmd.Process != nil {
		killGroup(cmd)
	}
	if errors.Is(err, exec.ErrWaitDelay) {
		return fmt.Errorf("%s has ended, but something that it started still holds its output", name)
	}
	if err != nil {
		return fmt.Errorf("%s: %w", strings.Join(append([]string{name}, args...), " "), err)
	}
	return nil
}

// announce prints what is about to run, as one could paste it.
func (j *job) announce(name string, args ...string) {
	words := []string{name}
	for _, a := range args {
		if a == "" || strings.ContainsAny(a, " '$^*|&;<>()\"\\") {
			a = "'" + strings.ReplaceAll(a, "'", `'\''`) + "'"
		}
		words = append(words, a)
	}
	j.printf("$ %s", strings.Join(words, " "))
}

// quiet announces and runs a command whose output matters only if it fails;
// then it is printed.
func (j *job) quiet(ctx context.Context, name string, args ...string) error {
	j.announce(name, args...)
	var out bytes.Buffer
	err := j.stream(ctx, &out, &out, name, args...)
	if err != nil {
		j.show(out.Bytes())
	}
	return err
}

// show prints what a child said, ending in a new line.
func (j *job) show(out []byte) {
	if out = bytes.TrimRight(out, "\n"); len(out) > 0 {
		fmt.Fprintf(j.stdout, "%s\n", out)
	}
}

// lines calls fn for every line that the command writes to standard output,
// as it comes. Standard error is returned.
func (j *job) lines(ctx context.Context, fn func([]byte), name string, args ...string) ([]byte, error) {
	r, w := io.Pipe()
	done := make(chan struct{})
	go func() {
		defer close(done)
		br := bufio.NewReader(r)
		for {
			line, err := br.ReadBytes('\n')
			if len(line) > 0 {
				fn(bytes.TrimRight(line, "\r\n"))
			}
			if err != nil {
				return // only io.EOF: the writer below is closed without an error
			}
		}
	}()
	var errOut bytes.Buffer
	err := j.stream(ctx, w, &errOut, name, args...)
	w.Close()
	<-done
	return errOut.Bytes(), err
}
