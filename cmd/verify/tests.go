package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
)

// goTest runs go test -json with the given arguments, prints a line for each
// package and holds the skip rule.
func (j *job) goTest(ctx context.Context, args ...string) error {
	args = append([]string{"test", "-json"}, args...)
	j.announce("go", args...)
	f := newFolder()
	var t tally
	errOut, err := j.lines(ctx, func(line []byte) {
		if r := f.add(line); r != nil {
			t.report(j, r)
		}
	}, "go", args...)
	j.show([]byte(f.stray.String()))
	if err != nil {
		j.show(errOut)
	}
	for _, name := range f.unfinished() {
		j.printf("%s never ended", name)
		t.broken++
	}
	return t.verdict(err)
}

// A tally counts over the packages of one go test.
type tally struct {
	tests, broken, failed, skipped, allowed int
}

func (t *tally) report(j *job, r *packageResult) {
	j.printf("%s", r.line())
	t.tests += r.tests
	t.failed += len(r.failed)
	if r.action == "fail" {
		t.broken++
		j.show([]byte(r.output))
	}
	for _, s := range r.skipped {
		if why := skipRule(s, allowedSkips, j.withoutOutside); why != "" {
			t.allowed++
			j.printf("     skipped %s: %s", s.name, why)
			continue
		}
		t.skipped++
		j.printf("     SKIPPED %s, which must run:", s.name)
		j.show([]byte(s.reason))
	}
}

// verdict joins what was counted with the go command's own opinion.
func (t *tally) verdict(err error) error {
	var parts []string
	say := func(n int, format string) {
		if n > 0 {
			parts = append(parts, fmt.Sprintf(format, n))
		}
	}
	say(t.broken, "packages failed: %d")
	say(t.failed, "tests failed: %d")
	say(t.skipped, "tests skipped that must run: %d")
	if len(parts) > 0 {
		return errors.New(strings.Join(parts, ", "))
	}
	if err == nil && t.tests == 0 {
		return errors.New("no test ran")
	}
	return err
}

// testTimeout lets go test itself wait longer for the large inputs of --long.
func (j *job) testTimeout() []string {
	if j.long {
		return []string{"-timeout=2h"}
	}
	return nil
}

func testsStage(ctx context.Context, j *job) error {
	dir, err := os.MkdirTemp("", "verify")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	profile := filepath.Join(dir, "cover.out")
	args := append([]string{"-count=1", "-coverprofile=" + profile}, j.testTimeout()...)
	if err := j.goTest(ctx, append(args, "./...")...); err != nil {
		return err
	}
	file, err := os.Open(profile)
	if err != nil {
		return err
	}
	defer file.Close()
	covered, total, err := totalCoverage(file)
	if err != nil {
		return err
	}
	if total > 0 {
		j.printf("together %.1f%% of %d statements covered", 100*float64(covered)/float64(total), total)
	}
	return nil
}

func raceStage(ctx context.Context, j *job) error {
	args := append([]string{"-race", "-count=1"}, j.testTimeout()...)
	return j.goTest(ctx, append(args, "./...")...)
}

func importsStage(ctx context.Context, j *job) error {
	return j.goTest(ctx, "-count=1", "-run=^TestRooms", "./cmd/verify")
}

// plainStage leaves go test's own lines as they are: they close the output.
func plainStage(ctx context.Context, j *job) error {
	args := append([]string{"test", "-count=1"}, j.testTimeout()...)
	args = append(args, "./...")
	j.announce("go", args...)
	return j.stream(ctx, j.stdout, j.stderr, "go", args...)
}
