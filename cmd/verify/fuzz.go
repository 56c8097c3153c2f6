package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"regexp"
	"strings"
	"time"
)

// A fuzzTarget is one fuzz function of one package.
type fuzzTarget struct{ pkg, name string }

var fuzzName = regexp.MustCompile(`^Fuzz\w*$`)

// listed takes one line of go test -json -list and returns the target on it.
func listed(line []byte) (fuzzTarget, bool) {
	var e event
	if json.Unmarshal(line, &e) != nil || e.Action != "output" {
		return fuzzTarget{}, false
	}
	name := strings.TrimSpace(e.Output)
	return fuzzTarget{e.Package, name}, fuzzName.MatchString(name)
}

var execsLine = regexp.MustCompile(`fuzz: elapsed: .* execs: (\d+)`)

// executions is the last count that a fuzz run printed, or "?".
func executions(out []byte) string {
	all := execsLine.FindAllSubmatch(out, -1)
	if len(all) == 0 {
		return "?"
	}
	return string(all[len(all)-1][1])
}

// fuzzStage runs every target for a counted number of inputs, so that runs
// compare, and one at a time, as go test can do only that.
func fuzzStage(ctx context.Context, j *job) error {
	list := []string{"test", "-json", "-list=^Fuzz", "./..."}
	j.announce("go", list...)
	var targets []fuzzTarget
	f := newFolder()
	errOut, err := j.lines(ctx, func(line []byte) {
		if t, ok := listed(line); ok {
			targets = append(targets, t)
		}
		if r := f.add(line); r != nil && r.action == "fail" {
			j.show([]byte(r.output))
		}
	}, "go", list...)
	if err != nil {
		j.show(errOut)
		return err
	}
	if len(targets) == 0 {
		return errors.New("no fuzz target found")
	}
	inputs := "20000x"
	if j.long {
		inputs = "2000000x"
	}
	for _, t := range targets {
		args := []string{
			"test", "-run=^$", "-fuzz=^" + t.name + "$", "-fuzztime=" + inputs,
			// By default one interesting input may be minimised for a minute.
			"-fuzzminimizetime=1000x", "-parallel=2", t.pkg,
		}
		j.announce("go", args...)
		var out bytes.Buffer
		start := time.Now()
		if err := j.stream(ctx, &out, &out, "go", args...); err != nil {
			j.show(out.Bytes())
			if ctx.Err() == nil {
				j.printf("an input that it found stands in the package's testdata/fuzz: commit it with the fix")
			}
			return err
		}
		j.printf("  %s executions, %s", executions(out.Bytes()), seconds(time.Since(start)))
	}
	return nil
}
