package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime"
	"syscall"

	"github.com/spf13/pflag"

	"linewitness/decode/verdict"
	"linewitness/fixtures/stage"
)

const usage = `Usage:
  go run ./cmd/fit [OPTION]...

Stages lines with known faults, examines each recording, and prints how often
the verdict was right, with 95 % intervals: in all, by cause, world, tap and
severity. All lines are invented. The same seed gives the same figures.

  --lines N           how many lines (500)
  --seed S            the first line's seed; the others follow (1)
  --mixed             every fifth line sound, other taps than the world's in half
                      of the lines, every third without its profile
  --world NAME        only lines of this world
  --cause CAUSE       only lines with this cause; none is a sound line
  --tap TAP           only this tap
  --without-profile   let the examination learn the link by itself
  --list              print every line's truth and answer, not only the figures
  --tell              with --list: also what each answer stands on
  --workers N         lines at a time (all cores)
  --save FILE         keep what the verdicts stood on
  --load FILE,...     take such files instead of staging: judge them again, and
                      fit weights on all worlds but one, judge that one, for all;
                      then the shipped weights without one group of evidence,
                      and a forest of random trees on the same facts
  --temper            with --load: keep the shipped weights and find by how much
                      all evidence is weakened for the probabilities to come true
  --write FILE        with --load: write the model fitted on all of them, or
                      tempered
  --ridge R           how strongly weights are drawn to their start (0.003)
  --steps N           most steps of a fit (300)
  --signs-alone       fit without what the evidence says by itself
  --help              print this

Right: the staged cause at its side. Allowed: what nobody could exclude at that
tap. Open: undetermined. Wrong: everything else.

Exit status: 0 done, 1 a line could not be staged or a file not read or written,
2 wrong use, 130 interrupted, with the figures of the lines so far.
`

// options are what was asked for.
type options struct {
	lines, workers int
	seed           uint64
	draw           stage.DrawOptions
	bare, list     bool
	tell           bool
	mixed          bool     // several taps, with and without a profile, more sound lines
	save           string   // file for what the verdicts stood on
	load           []string // such files instead of staging
	ridge          float64
	steps          int
	alone          bool   // signs without evidence
	cool           bool   // find the shipped model's temperatures only
	write          string // file for the model
}

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := run(ctx, os.Args[1:], os.Stdout, os.Stderr)
	stop()
	os.Exit(code)
}

// run is main without the process around it; it returns the exit status.
func run(ctx context.Context, args []string, stdout, stderr io.Writer) int {
	o, err := parse(args)
	switch {
	case errors.Is(err, pflag.ErrHelp):
		fmt.Fprint(stdout, usage)
		return 0
	case err == nil:
		_, err = stage.Draw(o.seed, o.draw)
	}
	if err != nil {
		fmt.Fprintf(stderr, "fit: %v (--help shows the options)\n", err)
		return 2
	}
	s := newScores()
	take := func(t *trial) {
		s.add(t)
		if o.list {
			fmt.Fprintln(stdout, t)
		}
		if o.list && o.tell {
			t.tell(stdout)
		}
	}
	if len(o.load) > 0 {
		if err := o.again(s, take, stdout); err != nil {
			fmt.Fprintf(stderr, "fit: %v\n", err)
			return 1
		}
		return 0
	}
	var store *keeper
	if o.save != "" {
		if store, err = newKeeper(o.save); err != nil {
			fmt.Fprintf(stderr, "fit: %v\n", err)
			return 1
		}
	}
	var storing error
	err = o.tryAll(ctx, stderr, func(t *trial) {
		take(t)
		if store != nil && storing == nil {
			storing = store.add(t)
		}
	})
	err = errors.Join(err, storing)
	if s.all.n > 0 {
		s.print(stdout)
	}
	switch {
	case ctx.Err() != nil:
		fmt.Fprintf(stderr, "fit: interrupted after %d of %d lines\n", s.all.n, o.lines)
		return 130
	case err != nil:
		fmt.Fprintf(stderr, "fit: %v\n", err)
		return 1
	}
	return 0
}

// again judges stored trials, cross-fits, and writes the model where one is wanted.
func (o *options) again(s *scores, take func(*trial), stdout io.Writer) error {
	var all []sample
	var basis []verdict.Input
	if err := loadKept(o.load, func(k *kept) {
		t := k.trial()
		take(t)
		all = append(all, t.sample())
		basis = append(basis, t.basis)
	}); err != nil {
		return err
	}
	if len(all) == 0 {
		return errors.New("the files hold no line")
	}
	s.print(stdout)
	if o.cool {
		fmt.Fprintln(stdout)
		return o.temper(stdout, all, basis)
	}
	fmt.Fprintf(stdout, "\nFitted on all worlds but one, judged on that one:\n\n")
	out := o.crossFit(all)
	table(stdout, out)
	ablate(stdout, all)
	o.ceiling(stdout, all, basis)
	if o.write == "" {
		return nil
	}
	return o.writeModel(all, out)
}

func parse(args []string) (o options, err error) {
	f := pflag.NewFlagSet("fit", pflag.ContinueOnError)
	f.SetOutput(io.Discard)
	f.Usage = func() {}
	f.IntVar(&o.lines, "lines", 500, "")
	f.IntVar(&o.workers, "workers", runtime.GOMAXPROCS(0), "")
	f.Uint64Var(&o.seed, "seed", 1, "")
	f.StringVar(&o.draw.World, "world", "", "")
	f.StringVar(&o.draw.Cause, "cause", "", "")
	f.StringVar(&o.draw.Tap, "tap", "", "")
	f.BoolVar(&o.bare, "without-profile", false, "")
	f.BoolVar(&o.list, "list", false, "")
	f.BoolVar(&o.tell, "tell", false, "")
	f.BoolVar(&o.mixed, "mixed", false, "")
	f.StringVar(&o.save, "save", "", "")
	f.StringSliceVar(&o.load, "load", nil, "")
	f.Float64Var(&o.ridge, "ridge", 3e-3, "")
	f.BoolVar(&o.alone, "signs-alone", false, "")
	f.StringVar(&o.write, "write", "", "")
	f.BoolVar(&o.cool, "temper", false, "")
	f.IntVar(&o.steps, "steps", 300, "")
	if err := f.Parse(args); err != nil {
		return o, err
	}
	switch {
	case (o.write != "" || o.cool) && len(o.load) == 0:
		return o, errors.New("--write and --temper are for --load")
	case !(o.ridge > 0) || o.steps < 1:
		return o, errors.New("--ridge and --steps: expected more than 0")
	case f.NArg() > 0:
		return o, fmt.Errorf("expected options only, found %q", f.Arg(0))
	case o.lines < 1 || o.lines > 1e6:
		return o, fmt.Errorf("--lines: expected 1 to 1000000, found %d", o.lines)
	case o.workers < 1 || o.workers > 256:
		return o, fmt.Errorf("--workers: expected 1 to 256, found %d", o.workers)
	}
	return o, nil
}
