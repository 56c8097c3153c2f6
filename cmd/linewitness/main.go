// Linewitness examines recordings of the signal line between the indoor and the outdoor unit of a split air
// conditioner and says which side or which conductor is at fault.
//
// Usage:
//
//	linewitness examine [--tap TAP] [--net NAME] [--json] [--frames OUT] [--report DIR] [--fail-on-fault] FILE...
//	linewitness examine --reading CHECK=VALUE... [--ask] [FILE]
//	linewitness examine --list-checks
//	linewitness compare [--two-taps|--before-after] [--profile FILE] [--tap TAP[,TAP]] [--json] FILE FILE
//	linewitness completion bash|zsh|fish|powershell
//	linewitness --version
//
// Examine decodes each recording down to single level transitions, checks every frame, and prints a verdict with its
// probability and evidence, what is cleared, and what to measure next with its caution. FILE is a recording as VCD,
// CSV or another format that is recognised by its content; - is standard input.
//
// Compare sets two recordings of one line beside each other: two taps at once, or before and after.
//
// Answers go to standard output, everything else to standard error. The exit status is 0 when everything was
// examined, whatever the verdict; 1 for an input that could not be read or an output that could not be written; 2 for
// wrong use; 3 with --fail-on-fault when a verdict is not sound; 130 when interrupted, with what was done so far
// written out. 1 wins over 3.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"
)

func main() { os.Exit(process()) }

// process runs the command for a process: an interruption cancels it, a second one ends it at once, and a reader
// that goes away is a failed write and no sudden death.
func process() int {
	signal.Ignore(syscall.SIGPIPE)
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	context.AfterFunc(ctx, stop)
	return run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
}
