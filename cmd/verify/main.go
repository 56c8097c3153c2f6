package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"path/filepath"
	"strings"
	"syscall"
	"time"
)

// What children see of the two options.
const (
	withoutOutsideVar = "LINEWITNESS_WITHOUT_OUTSIDE_CHECKS"
	longVar           = "LINEWITNESS_LONG"
)

const usage = `Usage:
  go run ./cmd/verify [--without-outside-checks] [--long] [--stage NAME[,NAME]]
  go run ./cmd/verify --list

Runs every check of the project, one stage after the other, and stops at the
first stage that fails; the cheap ones in front all run first.

  --without-outside-checks  leave out tests that need programs beside Go
  --long                    fuzz 100 times longer, measure benchmarks six times,
                            tests with their large inputs; takes hours
  --stage NAME[,NAME]       only these stages, in their usual order
  --list                    print the stages and what each one holds
  --help                    print this

Missing programs are installed when this runs as root where apt-get is.
It may be called from any folder of the module.

Exit status: 0 all passed, 1 a stage failed, 2 wrong use, 130 interrupted.

Examples:
  go run ./cmd/verify
  go run ./cmd/verify --stage format,vet,tests --without-outside-checks
`

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := run(ctx, os.Args[1:], os.Stdout, os.Stderr)
	stop()
	os.Exit(code)
}

// run is main without the process around it; it returns the exit status.
func run(ctx context.Context, args []string, stdout, stderr io.Writer) int {
	wrong := func(err error) int {
		fmt.Fprintf(stderr, "verify: %v (--help shows the options)\n", err)
		return 2
	}
	opts, err := parse(args)
	switch {
	case errors.Is(err, flag.ErrHelp):
		fmt.Fprint(stdout, usage)
		return 0
	case err != nil:
		return wrong(err)
	}
	all := stages()
	if opts.list {
		for _, s := range all {
			fmt.Fprintf(stdout, "%-14s %s\n", s.name, s.title)
		}
		return 0
	}
	chosen, err := choose(all, opts.stages)
	if err != nil {
		return wrong(err)
	}
	dir, err := os.Getwd()
	if err != nil {
		return wrong(err)
	}
	root, err := moduleRoot(dir)
	if err != nil {
		return wrong(err)
	}
	j := &job{root: root, env: os.Environ(), long: opts.long, stdout: stdout, stderr: stderr}
	// Set by hand, the variable leaves checks out just as the flag does, and
	// must be as loud.
	j.withoutOutside = opts.withoutOutside || os.Getenv(withoutOutsideVar) != ""
	if j.withoutOutside {
		j.env = append(j.env, withoutOutsideVar+"=1")
	}
	total := 40 * time.Minute
	if j.long {
		j.env = append(j.env, longVar+"=1")
		total = longFactor * total
		for i := range chosen {
			chosen[i].limit *= longFactor
		}
	}
	return runStages(ctx, j, chosen, total)
}

// longFactor is how much more time --long gives to each stage and to all.
const longFactor = 12

type options struct {
	withoutOutside, long, list bool
	stages                     []string
}

func parse(args []string) (options, error) {
	var o options
	var names string
	f := flag.NewFlagSet("verify", flag.ContinueOnError)
	f.SetOutput(io.Discard)
	f.BoolVar(&o.withoutOutside, "without-outside-checks", false, "")
	f.BoolVar(&o.long, "long", false, "")
	f.BoolVar(&o.list, "list", false, "")
	f.StringVar(&names, "stage", "", "")
	if err := f.Parse(args); err != nil {
		return o, err
	}
	if f.NArg() > 0 {
		return o, fmt.Errorf("unexpected argument %q", f.Arg(0))
	}
	given := false
	f.Visit(func(fl *flag.Flag) { given = given || fl.Name == "stage" })
	if given {
		o.stages = strings.Split(names, ",")
	}
	return o, nil
}

// choose keeps the named stages in their usual order; no names keeps all.
func choose(all []stage, names []string) ([]stage, error) {
	if len(names) == 0 {
		return all, nil
	}
	wanted := make(map[string]bool)
	for _, n := range names {
		wanted[strings.TrimSpace(n)] = true
	}
	var chosen []stage
	for _, s := range all {
		if wanted[s.name] {
			chosen = append(chosen, s)
			delete(wanted, s.name)
		}
	}
	for n := range wanted {
		return nil, fmt.Errorf("no stage is called %q; --list shows them", n)
	}
	return chosen, nil
}

// moduleRoot is the nearest folder at or above dir with a go.mod.
func moduleRoot(dir string) (string, error) {
	for d := dir; ; {
		if _, err := os.Stat(filepath.Join(d, "go.mod")); err == nil {
			return d, nil
		}
		up := filepath.Dir(d)
		if up == d {
			return "", fmt.Errorf("no go.mod at or above %s", dir)
		}
		d = up
	}
}
