package main

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"linewitness/capture"
	"linewitness/capture/file"
	"linewitness/decode/cause"
	"linewitness/fixtures/stage"
)

const stageHelp = `Usage:
  linewitness stage [OPTION]... SCENARIO -o FILE    write a recording of it
  linewitness stage [OPTION]... SCENARIO --play PORT
  linewitness stage --random [OPTION]... -o FILE
  linewitness stage --describe SCENARIO
  linewitness stage --list

Stages a signal line with known faults: two units that really converse over a
model of their line, and a probe on it. SCENARIO is the name of a shipped one,
a YAML file, or - for standard input; a profile that it names is a shipped one
or a file beside it, in the current folder for standard input. All of it is
invented: houses, makes and traffic.

Options:
  -o, --output FILE    the recording, by its ending .vcd, .csv, .wav or .pcapng
      --truth FILE     also write what is wrong, when, what trace it left, and
                       what nobody could exclude from this tap, as JSON
      --link-profile FILE  also write the link that the line should speak, as a
                       profile for linewitness examine --profile
      --play PORT      send what the receiver at the tap hears to a serial port,
                       in real time: octets, so bits and timing, never levels.
                       CAUTION: never to a line with a unit on it. A unit may
                       start its fan or compressor on what it hears, and its
                       signal line is joined to the mains
      --seconds S      length, instead of the scenario's
      --seed N         draw everything by chance from N, instead of its seed
      --random         draw the scenario too, from --seed (1 if not given)
      --cause CAUSE    with --random: this cause; none is a sound line
      --side SIDE      with --random: indoor, outdoor or line
      --world WORLD    with --random: in this world (--list prints them)
      --tap TAP        where the probe sits, instead of the scenario's
      --describe       what it teaches, with its cautions, and its parameters
      --list           print scenarios and worlds
  -h, --help           print this help

The same scenario and seed give the same recording on every machine. A file
stands under its name only when it is whole.

Exit status: 0 done; 1 the scenario could not be read or staged, the output not
written, or a port can show nothing of it; 2 wrong use; 130 interrupted: no file
is written, and what was played is told.

Examples:
  linewitness stage wet-splice -o splice.wav --truth splice.json
  linewitness stage --describe poor-joint
  linewitness stage --random --seed 7 --cause leakage -o leak.pcapng
  linewitness stage wrong-sums --play /dev/ttyUSB0
`

// stageOptions are stage's options as given.
type stageOptions struct {
	output, truth, play string
	linkProfile         string
	seconds             float64
	seed                int
	seeded              bool
	random, describe    bool
	list                bool
	draw                stage.DrawOptions
	tap                 capture.Tap
	format              string // of the output
}

func newStage() *cobra.Command {
	var opt stageOptions
	cmd := &cobra.Command{
		Use:   "stage [OPTION]... SCENARIO -o FILE",
		Short: "Stage a line with known faults",
		RunE: func(cmd *cobra.Command, names []string) error {
			opt.seeded = cmd.Flags().Changed("seed")
			if err := opt.check(names); err != nil {
				return err
			}
			return opt.run(cmd.Context(), names, streams{cmd.InOrStdin(), cmd.OutOrStdout(), cmd.ErrOrStderr()})
		},
	}
	flags := cmd.Flags()
	flags.SortFlags = false
	flags.StringVarP(&opt.output, "output", "o", "", "the recording")
	flags.StringVar(&opt.truth, "truth", "", "what is wrong, as JSON")
	flags.StringVar(&opt.linkProfile, "link-profile", "", "the link that the line should speak")
	flags.StringVar(&opt.play, "play", "", "send what the receiver hears to this port")
	flags.Var(positive{&opt.seconds}, "seconds", "length of the recording")
	flags.IntVar(&opt.seed, "seed", 1, "everything by chance is drawn from it")
	flags.BoolVar(&opt.random, "random", false, "draw the scenario too")
	flags.StringVar(&opt.draw.Cause, "cause", "", "with --random: this cause")
	flags.StringVar(&opt.draw.Side, "side", "", "with --random: at this side")
	flags.StringVar(&opt.draw.World, "world", "", "with --random: in this world")
	flags.Var(tapFlag{&opt.tap}, "tap", "where the probe sits")
	flags.BoolVar(&opt.describe, "describe", false, "what it teaches")
	flags.BoolVar(&opt.list, "list", false, "print scenarios and worlds")
	completeWith(cmd, "tap", capture.TapNames())
	completeWith(cmd, "side", []string{"indoor", "outdoor", "line"})
	completeWith(cmd, "cause", causeNames())
	completeWith(cmd, "world", worldNames())
	cmd.ValidArgsFunction = cobra.FixedCompletions(stage.Shipped(), cobra.ShellCompDirectiveDefault)
	setHelp(cmd, stageHelp)
	return cmd
}

func causeNames() (names []string) {
	for _, c := range cause.All() {
		names = append(names, c.String())
	}
	return names
}

func worldNames() (names []string) {
	for _, w := range stage.Worlds() {
		names = append(names, w.Name)
	}
	return names
}

// check finds wrong use before anything is read or written.
func (o *stageOptions) check(names []string) (err error) {
	if o.list {
		if len(names) > 0 || o.describe || o.output != "" || o.play != "" || o.random {
			return errors.New("--list stands alone")
		}
		return nil
	}
	var wants []string
	for _, w := range []struct {
		name  string
		given bool
	}{{"-o FILE", o.output != ""}, {"--play PORT", o.play != ""}, {"--describe", o.describe}} {
		if w.given {
			wants = append(wants, w.name)
		}
	}
	switch {
	case o.random && len(names) > 0:
		return errors.New("--random takes no SCENARIO")
	case !o.random && len(names) != 1:
		return fmt.Errorf("expected one SCENARIO (linewitness stage --list prints them) or --random, found %d", len(names))
	case !o.random && o.draw != (stage.DrawOptions{}):
		return errors.New("--cause, --side and --world are for --random")
	case len(wants) == 0:
		return errors.New("expected -o FILE, --play PORT or --describe, found none")
	case len(wants) > 1:
		return fmt.Errorf("expected one of %s", strings.Join(wants, ", "))
	case o.truth != "" && o.output == "":
		return errors.New("--truth is for -o FILE")
	case o.linkProfile != "" && o.output == "":
		return errors.New("--link-profile is for -o FILE")
	case o.seed < 0:
		return errors.New("--seed: expected 0 or more")
	case o.output != "" && (o.output == o.truth || o.output == o.linkProfile) || o.truth != "" && o.truth == o.linkProfile:
		return errors.New("-o, --truth and --link-profile want different files")
	}
	if o.output != "" {
		o.format, err = file.FormatOf(o.output)
	}
	return err
}
