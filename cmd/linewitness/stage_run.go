package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"linewitness/fixtures/stage"
)

// run does what was asked for; errors of the scenario are reported here.
func (o *stageOptions) run(ctx context.Context, names []string, std streams) error {
	if o.list {
		return listStages(std.out)
	}
	s, beside, err := o.scenario(names, std)
	if err == nil {
		switch {
		case o.describe:
			err = describeStage(std.out, s, beside)
		case o.play != "":
			err = o.playOn(ctx, s, beside, std)
		default:
			err = o.record(ctx, s, beside, std)
		}
	}
	switch {
	case err == nil:
		return nil
	case errors.As(err, new(*outputError)) || errors.As(err, new(ended)):
		return err
	case ctx.Err() != nil:
		return ended{statusInterrupted}
	}
	report(std.err, err)
	return ended{statusFailed}
}

// mostScenario is more than a scenario may have: package strict refuses it.
const mostScenario = 2 << 20

// scenario is the one that was asked for, with what the options change; beside is the folder of its file.
func (o *stageOptions) scenario(names []string, std streams) (s *stage.Scenario, beside fs.FS, err error) {
	switch {
	case o.random:
		o.draw.Tap = o.tapName()
		s, err = stage.Draw(uint64(o.seed), o.draw)
	case slices.Contains(stage.Shipped(), names[0]):
		s, err = stage.Open(names[0])
	default:
		s, beside, err = readScenario(names[0], std.in)
	}
	if err != nil {
		return nil, nil, err
	}
	if o.seeded {
		s.Seed = o.seed
	}
	if o.tapName() != "" {
		s.Tap = o.tapName()
	}
	if o.seconds > 0 {
		if left := s.Shorten(o.seconds); len(left) > 0 {
			fmt.Fprintf(std.err, "linewitness: %s begins only after %v s and is left out\n", strings.Join(left, ", "), o.seconds)
		}
	}
	return s, beside, nil
}

func (o *stageOptions) tapName() string {
	if o.tap == 0 {
		return ""
	}
	return o.tap.String()
}

// readScenario reads a scenario's file, - for standard input: what is beside that is in the current folder, as for a name without
// one.
func readScenario(name string, stdin io.Reader) (*stage.Scenario, fs.FS, error) {
	in, shown := stdin, name
	var beside fs.FS
	if name == "-" {
		shown, beside = "standard input", os.DirFS(".")
	} else {
		f, err := os.Open(name)
		if errors.Is(err, fs.ErrNotExist) && !strings.ContainsAny(name, `./\`) {
			_, err = stage.Open(name)
			return nil, nil, err
		}
		if err != nil {
			return nil, nil, fmt.Errorf("%s: %w", name, plainPath(err))
		}
		defer f.Close()
		in, beside = f, os.DirFS(filepath.Dir(name))
	}
	data, err := io.ReadAll(io.LimitReader(in, mostScenario))
	if err != nil {
		return nil, nil, fmt.Errorf("%s: %w", shown, plainPath(err))
	}
	s, err := stage.ReadIn(beside, shown, data)
	return s, beside, err
}

// listStages prints names, titles and causes of the shipped scenarios, and the worlds.
func listStages(out io.Writer) error {
	var b strings.Builder
	b.WriteString("Scenarios:\n")
	for _, name := range stage.Shipped() {
		s, err := stage.Open(name)
		if err != nil {
			return err
		}
		fmt.Fprintf(&b, "  %-24s %s (%s)\n", name, s.Title, strings.Join(faultNames(s), ", "))
	}
	b.WriteString("\nWorlds for --random:\n")
	for _, w := range stage.Worlds() {
		fmt.Fprintf(&b, "  %-24s %s\n", w.Name, w.About)
	}
	if _, err := io.WriteString(out, b.String()); err != nil {
		return &outputError{err}
	}
	return nil
}

// faultNames are a scenario's causes, none for a sound line.
func faultNames(s *stage.Scenario) []string {
	names := []string{}
	for _, f := range s.Faults {
		names = append(names, string(f.Cause))
	}
	if len(names) == 0 {
		names = append(names, "none")
	}
	return names
}
