package main

import (
	"bytes"
	"context"
	"errors"
	"os/exec"
	"path/filepath"
	"strings"
	"time"
)

// stages lists all stages in their order. The limits are generous for two
// cores with nothing built yet; the whole run has its own.
func stages() []stage {
	return []stage{
		{name: "prerequisites", title: "the outside programs that tests need", cheap: true, limit: 10 * time.Minute, run: prerequisitesStage},
		{name: "format", title: "every Go file is as gofmt leaves it", cheap: true, limit: 2 * time.Minute, run: formatStage},
		{name: "vet", title: "go vet has nothing to say", cheap: true, limit: 10 * time.Minute, run: commands("go vet ./...")},
		{name: "staticcheck", title: "staticcheck has nothing to say", cheap: true, limit: 10 * time.Minute, run: commands("go tool staticcheck ./...")},
		{name: "imports", title: "each room imports only what the table allows", cheap: true, limit: 5 * time.Minute, run: importsStage},
		{name: "modules", title: "go.mod is tidy and its modules are unchanged", cheap: true, limit: 5 * time.Minute, run: commands("go mod tidy -diff", "go mod verify")},
		{name: "tests", title: "all tests, with coverage; none may skip", limit: 12 * time.Minute, run: testsStage},
		{name: "race", title: "all tests under the race detector; none may skip", limit: 15 * time.Minute, run: raceStage},
		{name: "fuzz", title: "every fuzz target for a counted number of inputs", limit: 15 * time.Minute, run: fuzzStage},
		{name: "benchmarks", title: "every benchmark runs", limit: 8 * time.Minute, run: benchmarksStage},
		{name: "readme", title: "the README's first command works as printed", limit: 5 * time.Minute, run: readmeStage},
		{name: "plain", title: "go test as anyone runs it", last: true, limit: 12 * time.Minute, run: plainStage},
	}
}

// commands makes a stage of command lines that say nothing worth reading
// unless they fail. It runs all of them and returns the first error.
func commands(lines ...string) func(context.Context, *job) error {
	return func(ctx context.Context, j *job) error {
		var first error
		for _, line := range lines {
			words := strings.Fields(line)
			if err := j.quiet(ctx, words[0], words[1:]...); err != nil && first == nil {
				first = err
			}
		}
		return first
	}
}

func formatStage(ctx context.Context, j *job) error {
	gofmt := "gofmt"
	if _, err := exec.LookPath(gofmt); err != nil {
		// Where only go itself was linked into the path.
		var out bytes.Buffer
		if err := j.stream(ctx, &out, &out, "go", "env", "GOROOT"); err != nil {
			return err
		}
		gofmt = filepath.Join(strings.TrimSpace(out.String()), "bin", "gofmt")
	}
	j.announce("gofmt", "-l", ".")
	var out, errOut bytes.Buffer
	err := j.stream(ctx, &out, &errOut, gofmt, "-l", ".")
	j.show(out.Bytes())
	if err != nil {
		j.show(errOut.Bytes())
		return err
	}
	if out.Len() > 0 {
		return errors.New("the files above need gofmt -w")
	}
	return nil
}
