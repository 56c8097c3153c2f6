package main

import (
	"bytes"
	"context"
	"errors"
	"regexp"
)

var benchmarkLine = regexp.MustCompile(`(?m)^Benchmark\S+\s+\d+\s+.*ns/op`)

// benchmarksStage proves that benchmarks still run; only --long measures.
func benchmarksStage(ctx context.Context, j *job) error {
	args := []string{"test", "-run=^$", "-bench=."}
	if j.long {
		args = append(args, "-count=6", "-timeout=4h")
	} else {
		args = append(args, "-benchtime=1x")
	}
	args = append(args, "./...")
	j.announce("go", args...)
	var out bytes.Buffer
	err := j.stream(ctx, &out, &out, "go", args...)
	if err != nil || j.long {
		j.show(out.Bytes())
	}
	if err != nil {
		return err
	}
	n := len(benchmarkLine.FindAll(out.Bytes(), -1))
	if n == 0 {
		return errors.New("no benchmark ran")
	}
	j.printf("%d results", n)
	return nil
}
