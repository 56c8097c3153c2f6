package main

import (
	"errors"
	"fmt"
	"os"

	"github.com/spf13/cobra"

	"linewitness/capture"
	"linewitness/decode/check"
)

const examineHelp = `Usage:
  linewitness examine [OPTION]... FILE...
  linewitness examine --reading CHECK=VALUE... [--ask] [OPTION]... [FILE]
  linewitness examine --list-checks

Says for each recording whether the line and both units are sound; if not, which
side or which conductor is at fault, how sure that is, on what evidence, what is
cleared, and what to measure next.

Options:
      --profile FILE   the link as a profile describes it; learned from the
                       recording if not given (see linewitness help profile)
      --tap TAP        where the probe sat: indoor-terminal, outdoor-terminal,
                       loop-current, board-pin or pair; inferred if not given
      --net NAME       which net of a VCD file, or which channel of a WAV file
                       (1, 2, ...), where it has several
      --full-scale X   volts (amperes at a loop-current tap) that +1.0 of a WAV
                       file stands for; without it sizes are not judged
      --mains HZ       nominal frequency of the mains, 50 or 60; found from the
                       recording if not given
      --reading CHECK=VALUE
                       what a check by hand showed, such as fault-shown=yes or
                       S-N@indoor=dc:steady:23.8V; may be given several times,
                       and history=worked-for-years says what came before; FILE
                       may then be missing
      --ask            ask for one reading after the other, the one worth most
                       first, and end in a one-page sheet; with one FILE or none
      --json           print findings as JSON, one object a line, one a file
      --frames OUT     write every frame to OUT, by its ending .jsonl, .csv or
                       .pcapng (frames as packets); - is JSON lines on standard
                       output, and the answer then goes to standard error (not
                       together with --json)
      --report DIR     write a report with figures into DIR; with several FILEs
                       into a folder for each below it
      --fail-on-fault  exit 3 when a verdict is not sound
      --list-checks    print the checks by hand with their values, and stop
  -h, --help           print this help

FILE is a recording, recognised by its content: VCD with a one-bit net or a real
net of volts, CSV with the header time_s,level or time_s,volts, WAV, or pcapng as
convert writes it; - is standard input. At a loop-current tap
the samples are amperes. Volts at a terminal should have 8 samples a bit or more:
below that no distortion is claimed.

Exit status: 0 examined, whatever the verdict; 1 a FILE could not be read (the
rest go on) or an output not written; 2 wrong use; 3 see --fail-on-fault;
130 interrupted, with what was done so far written out. 1 wins over 3.

Examples:
  linewitness examine fixtures/recordings/meadow-bus-sound.vcd
  linewitness examine --profile fixtures/profiles/meadow-bus.yaml \
      fixtures/recordings/meadow-bus-sound.vcd
  linewitness examine --json --frames frames.csv fixtures/recordings/*.vcd
  linewitness examine --reading fault-shown=yes \
      --reading S-N@indoor=dc:steady:0.2V --reading S-N@outdoor=dc:steady:24V
  linewitness examine --ask
  linewitness examine --tap indoor-terminal --full-scale 40 --report dip \
      fixtures/recordings/alder-loop-supply-dips.wav

` + safety

// examineOptions are examine's options as given.
type examineOptions struct {
	profile     string
	tap         capture.Tap
	net         string
	fullScale   float64
	mains       float64
	json        bool
	frames      string
	report      string
	failOnFault bool
	listChecks  bool
	readings    []check.Reading
	ask         bool
}

func newExamine() *cobra.Command {
	var opt examineOptions
	cmd := &cobra.Command{
		Use:   "examine [OPTION]... [FILE]...",
		Short: "Examine recordings of a signal line",
		RunE: func(cmd *cobra.Command, files []string) error {
			if opt.listChecks {
				if len(files) > 0 {
					return errors.New("--list-checks takes no FILE")
				}
				return listChecks(cmd.OutOrStdout())
			}
			if err := opt.check(files); err != nil {
				return err
			}
			return examineAll(cmd.Context(), opt, files, streams{cmd.InOrStdin(), cmd.OutOrStdout(), cmd.ErrOrStderr()})
		},
	}
	flags := cmd.Flags()
	flags.SortFlags = false
	flags.StringVar(&opt.profile, "profile", "", "the link as this profile describes it")
	flags.Var(tapFlag{&opt.tap}, "tap", "where the probe sat")
	flags.StringVar(&opt.net, "net", "", "which net of a VCD file")
	flags.Var(positive{&opt.fullScale}, "full-scale", "what +1.0 of a WAV file stands for")
	flags.Var(mainsFlag{&opt.mains}, "mains", "nominal frequency of the mains")
	flags.Var(readingsFlag{&opt.readings}, "reading", "what a check by hand showed")
	flags.BoolVar(&opt.ask, "ask", false, "ask for readings one by one")
	flags.BoolVar(&opt.json, "json", false, "print findings as JSON")
	flags.StringVar(&opt.frames, "frames", "", "write every frame to this file")
	flags.StringVar(&opt.report, "report", "", "write a report into this folder")
	flags.BoolVar(&opt.failOnFault, "fail-on-fault", false, "exit 3 when a verdict is not sound")
	flags.BoolVar(&opt.listChecks, "list-checks", false, "print the checks by hand")
	completeWith(cmd, "tap", capture.TapNames())
	completeWith(cmd, "mains", []string{"50", "60"})
	if err := cmd.MarkFlagDirname("report"); err != nil {
		panic("linewitness: " + err.Error()) // the flag was defined just before
	}
	if err := cmd.MarkFlagFilename("profile", "yaml", "yml"); err != nil {
		panic("linewitness: " + err.Error()) // the flag was defined just before
	}
	setHelp(cmd, examineHelp)
	return cmd
}

func completeWith(cmd *cobra.Command, flag string, values []string) {
	if err := cmd.RegisterFlagCompletionFunc(flag, cobra.FixedCompletions(values, cobra.ShellCompDirectiveNoFileComp)); err != nil {
		panic("linewitness: " + err.Error()) // the flag was defined just before
	}
}

// check finds wrong use before anything is read or written.
func (o *examineOptions) check(files []string) error {
	if len(files) == 0 && len(o.readings) == 0 && !o.ask {
		return errors.New("a FILE is missing (- is standard input); only --reading and --ask do without")
	}
	if len(files) == 0 && o.frames != "" {
		return errors.New("--frames needs a FILE")
	}
	if o.ask && (len(files) > 1 || len(files) == 1 && files[0] == "-" || o.profile == "-") {
		return errors.New("--ask takes one FILE or none, and reads the answers from standard input")
	}
	if len(files) > 1 && len(o.readings) > 0 {
		return errors.New("--reading belongs to one line: give one FILE with it")
	}
	if o.json && o.frames == "-" {
		return errors.New("--json and --frames - both want standard output")
	}
	standard := 0
	if o.profile == "-" {
		standard++
	}
	for _, name := range files {
		if name == "-" {
			standard++
		}
		if o.frames != "" && sameFile(o.frames, name) {
			return fmt.Errorf("--frames %s would overwrite the recording", o.frames)
		}
	}
	if standard > 1 {
		return errors.New("standard input can be read once only")
	}
	return nil
}

func sameFile(a, b string) bool {
	if a == "-" || b == "-" {
		return false
	}
	infoA, errA := os.Stat(a)
	infoB, errB := os.Stat(b)
	return errA == nil && errB == nil && infoA.Mode().IsRegular() && os.SameFile(infoA, infoB)
}
