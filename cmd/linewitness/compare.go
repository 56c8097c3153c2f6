package main

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"linewitness/capture"
)

const compareHelp = `Usage:
  linewitness compare [OPTION]... FILE FILE

Sets two recordings of one line beside each other. Two taps recorded at once are
aligned by the frames and the gaps that both show: what left one end whole and
did not arrive so at the other is lost between the taps. Of before and after it
says what changed, each figure with its test.

Options:
      --two-taps       the recordings were made at once, at the two ends of the
                       line; without it they are taken so if they show that
                       they are
      --before-after   the first was made before, the second after; so are two
                       recordings taken that cannot be aligned
      --profile FILE   the link as a profile describes it; learned from one of
                       the recordings if not given
      --tap TAP[,TAP]  where the probes sat, if one TAP is given both of them:
                       indoor-terminal, outdoor-terminal, loop-current,
                       board-pin or pair
      --net NAME       which net of a VCD file, or which channel of a WAV file
                       (1, 2, ...), where it has several
      --full-scale X[,X]  volts (amperes at a loop-current tap) that +1.0 of the
                       WAV files stands for
      --mains HZ       nominal frequency of the mains, 50 or 60; found from the
                       recordings if not given
      --json           print the comparison as JSON, one object on one line
  -h, --help           print this help

FILE is a recording as examine takes it; one of them may be - for standard
input. Of two taps at once the first FILE is that of the indoor end and the
second that of the outdoor end, unless their taps say otherwise. One may begin
long before the other; their clocks may differ by 500 ppm. Two taps are told
from two occasions by the units' wavering in time: some 60 frames of each side
take part at least. At most 2,000,000 frames a file are aligned; --before-after
takes any number.

Exit status: 0 compared, whatever was found; 1 a FILE could not be read or the
output not written; 2 wrong use; 130 interrupted; if that was while the second
FILE was read, what had been read of it is compared.

Examples:
  linewitness compare indoor.pcapng outdoor.pcapng
  linewitness compare --before-after --tap indoor-terminal --full-scale 60 \
      before.wav after.wav

` + safety

// compareOptions are compare's options as given.
type compareOptions struct {
	twoTaps     bool
	beforeAfter bool
	profile     string
	taps        [2]capture.Tap
	net         string
	fullScale   [2]float64
	mains       float64
	json        bool
}

func newCompare() *cobra.Command {
	var opt compareOptions
	cmd := &cobra.Command{
		Use:   "compare [OPTION]... FILE FILE",
		Short: "Compare two taps at once, or before and after",
		RunE: func(cmd *cobra.Command, files []string) error {
			if err := opt.check(files); err != nil {
				return err
			}
			return compareFiles(cmd.Context(), opt, [2]string(files), streams{cmd.InOrStdin(), cmd.OutOrStdout(), cmd.ErrOrStderr()})
		},
	}
	flags := cmd.Flags()
	flags.SortFlags = false
	flags.BoolVar(&opt.twoTaps, "two-taps", false, "the recordings were made at once")
	flags.BoolVar(&opt.beforeAfter, "before-after", false, "one was made before, one after")
	flags.StringVar(&opt.profile, "profile", "", "the link as this profile describes it")
	flags.Var(twoTaps{&opt.taps}, "tap", "where the probes sat")
	flags.StringVar(&opt.net, "net", "", "which net of a VCD file")
	flags.Var(twoScales{&opt.fullScale}, "full-scale", "what +1.0 of a WAV file stands for")
	flags.Var(mainsFlag{&opt.mains}, "mains", "nominal frequency of the mains")
	flags.BoolVar(&opt.json, "json", false, "print the comparison as JSON")
	completeWith(cmd, "tap", capture.TapNames())
	completeWith(cmd, "mains", []string{"50", "60"})
	if err := cmd.MarkFlagFilename("profile", "yaml", "yml"); err != nil {
		panic("linewitness: " + err.Error()) // the flag was defined just before
	}
	setHelp(cmd, compareHelp)
	return cmd
}

// check finds wrong use before anything is read.
func (o *compareOptions) check(files []string) error {
	standard := 0
	for _, name := range append([]string{o.profile}, files...) {
		if name == "-" {
			standard++
		}
	}
	switch {
	case len(files) != 2:
		return fmt.Errorf("expected two FILEs, found %d", len(files))
	case o.twoTaps && o.beforeAfter:
		return errors.New("--two-taps and --before-after exclude each other")
	case standard > 1:
		return errors.New("standard input can be read once only")
	case sameFile(files[0], files[1]):
		return fmt.Errorf("%s and %s are the same recording", files[0], files[1])
	}
	return nil
}

// pairOf takes an argument of one part, or of two with a comma between.
func pairOf(s string, take func(part string, i int) error) error {
	first, second, two := strings.Cut(s, ",")
	if !two {
		second = first
	}
	if err := take(first, 0); err != nil {
		return err
	}
	return take(second, 1)
}

// twoTaps is a flag that takes one tap or two.
type twoTaps struct{ taps *[2]capture.Tap }

func (f twoTaps) String() string {
	if f.taps == nil || f.taps[0] == capture.TapUnknown {
		return ""
	}
	return f.taps[0].String() + "," + f.taps[1].String()
}

func (f twoTaps) Set(s string) error {
	return pairOf(s, func(part string, i int) error { return tapFlag{&f.taps[i]}.Set(part) })
}

func (f twoTaps) Type() string { return "TAP[,TAP]" }

// twoScales is a flag that takes one full scale or two.
type twoScales struct{ v *[2]float64 }

func (f twoScales) String() string {
	if f.v == nil || f.v[0] == 0 {
		return ""
	}
	return positive{&f.v[0]}.String() + "," + positive{&f.v[1]}.String()
}

func (f twoScales) Set(s string) error {
	return pairOf(s, func(part string, i int) error { return positive{&f.v[i]}.Set(part) })
}

func (f twoScales) Type() string { return "X[,X]" }
