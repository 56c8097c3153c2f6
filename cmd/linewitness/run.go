package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"syscall"
)

// status is an exit status.
type status int

// The exit statuses, part of the contract.
const (
	statusDone        status = 0   // examined, whatever the verdict
	statusFailed      status = 1   // input not readable or output not written
	statusWrongUse    status = 2   //
	statusFault       status = 3   // --fail-on-fault, and a verdict is not sound
	statusInterrupted status = 130 // what was done so far was written
)

// ended is how a command ended when it was not simply done; everything there was to say has been said.
type ended struct{ status status }

func (e ended) Error() string { return fmt.Sprintf("exit status %d", e.status) }

// run is the whole command: it parses, examines and prints, and returns the exit status.
func run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	root := newRoot(stdin, stdout, stderr)
	root.SetArgs(append([]string{}, args...)) // nil would mean the process's own arguments
	at, err := root.ExecuteContextC(ctx)
	var end ended
	switch {
	case err == nil:
		return int(statusDone)
	case errors.As(err, &end):
		return int(end.status)
	case errors.As(err, new(*outputError)):
		report(stderr, err)
		return int(statusFailed)
	}
	fmt.Fprintf(stderr, "linewitness: %v; see '%s --help'\n", err, at.CommandPath())
	return int(statusWrongUse)
}

// outputError is an answer that could not be written.
type outputError struct{ err error }

func (e *outputError) Error() string { return e.err.Error() }
func (e *outputError) Unwrap() error { return e.err }

// report says an error on standard error. A reader that went away, as head does, knows that by itself.
func report(stderr io.Writer, err error) {
	if !errors.Is(err, syscall.EPIPE) && !errors.Is(err, io.ErrClosedPipe) {
		fmt.Fprintf(stderr, "linewitness: %v\n", err)
	}
}
