package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"
)

// A stage is one step of the check.
type stage struct {
	name, title string
	cheap       bool // runs even after another cheap stage has failed
	last        bool // its own output closes ours: the table is printed above it
	limit       time.Duration
	run         func(context.Context, *job) error
}

// A job is what the stages of one call share.
type job struct {
	root           string // folder of go.mod, where every command runs
	env            []string
	long           bool
	withoutOutside bool
	killDelay      time.Duration // zero: the usual one
	stdout, stderr io.Writer
}

func (j *job) printf(format string, args ...any) {
	fmt.Fprintf(j.stdout, "   "+format+"\n", args...)
}

// An outcome is one line of the closing table.
type outcome struct {
	name, result string
	took         time.Duration
}

// runStages runs the stages in order and returns the exit status.
func runStages(ctx context.Context, j *job, list []stage, total time.Duration) int {
	ctx, cancel := context.WithTimeoutCause(ctx, total,
		fmt.Errorf("the whole run is not done after %v, its limit", total))
	defer cancel()

	var table []outcome
	var failed []string
	tablePrinted := false
	for i, s := range list {
		if len(failed) > 0 && !s.cheap {
			table = append(table, outcome{name: s.name, result: "not run"})
			continue
		}
		if s.last {
			printTable(j, append(table, outcome{name: s.name, result: "follows"}))
			tablePrinted = true
		}
		fmt.Fprintf(j.stdout, "\n== %d of %d, %s: %s\n", i+1, len(list), s.name, s.title)
		took, err := runStage(ctx, j, s)
		if interrupted(ctx) {
			fmt.Fprintf(j.stderr, "verify: interrupted in stage %s\n", s.name)
			return 130
		}
		result := "ok"
		if err != nil {
			result = "FAILED"
			failed = append(failed, s.name)
			fmt.Fprintf(j.stderr, "   %s FAILED after %s: %v\n", s.name, seconds(took), err)
		} else if !s.last {
			j.printf("ok, %s", seconds(took))
		}
		table = append(table, outcome{s.name, result, took})
		if ctx.Err() != nil {
			break // the limit of the whole run; no later stage could start
		}
	}
	if len(failed) > 0 || !tablePrinted {
		printTable(j, table)
	}
	if len(failed) > 0 {
		fmt.Fprintf(j.stderr, "verify: failed: %s\n", failed[0])
		for _, n := range failed[1:] {
			fmt.Fprintf(j.stderr, "verify: failed as well: %s\n", n)
		}
		return 1
	}
	return 0
}

// runStage runs one stage within its limit.
func runStage(ctx context.Context, j *job, s stage) (time.Duration, error) {
	ctx, cancel := context.WithTimeoutCause(ctx, s.limit, fmt.Errorf("not done after %v, the stage's limit", s.limit))
	defer cancel()
	start := time.Now()
	err := s.run(ctx, j)
	// A killed child says only "signal: interrupt"; the reason is the limit.
	if cause := context.Cause(ctx); err != nil && cause != nil && !errors.Is(cause, context.Canceled) {
		err = cause
	}
	return time.Since(start), err
}

// interrupted tells a signal from a limit.
func interrupted(ctx context.Context) bool {
	return errors.Is(ctx.Err(), context.Canceled)
}

func printTable(j *job, table []outcome) {
	fmt.Fprintf(j.stdout, "\n%-14s %-8s %s\n", "stage", "result", "time")
	for _, o := range table {
		took := ""
		if o.took > 0 {
			took = " " + seconds(o.took)
		}
		fmt.Fprintf(j.stdout, "%-14s %s%s\n", o.name, pad(o.result, took), took)
	}
	if j.withoutOutside {
		fmt.Fprintf(j.stdout, "\n*** outside checks were left out: tests that need programs beside Go did not run ***\n")
	}
}

// pad fills s up to the next column, unless nothing follows.
func pad(s, next string) string {
	if next == "" {
		return s
	}
	return fmt.Sprintf("%-7s", s)
}

func seconds(d time.Duration) string {
	if d < 10*time.Second {
		return fmt.Sprintf("%.1f s", d.Seconds())
	}
	return fmt.Sprintf("%.0f s", d.Seconds())
}
