package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"linewitness/capture/file"
)

const convertHelp = `Usage:
  linewitness convert [OPTION]... FROM TO

Writes the recording FROM as TO, in the format that the ending of TO says: .vcd,
.csv, .wav or .pcapng. What TO's format cannot hold is named on standard error if it is
secondary, such as the tap or the doubt of an instant; what the recording
consists of, such as a third level, is never left out: the conversion is refused.

Options:
      --net NAME       which net of a VCD file, or which channel of a WAV file
                       (1, 2, ...), where FROM has several
      --full-scale X   volts (amperes at a loop-current tap) that +1.0 of a WAV
                       file stands for, on either side; needed from WAV to VCD
                       or CSV (1 keeps the numbers), and to a WAV of integers
                       from anything but WAV
      --bits BITS      samples of a WAV file: 8, 16, 24 or 32 for integers, float
                       or float64; float if not given, as it holds lost
                       intervals, needs no full scale, and keeps integers of up
                       to 24 bits exactly
      --round          round instants that TO cannot hold exactly to the nearest
                       nanosecond, and say by how much
  -h, --help           print this help

FROM is a recording, recognised by its content: VCD, CSV, WAV or pcapng; - is
standard input. TO stands under its name only when it is whole; a file of that
name is replaced, FROM itself is not. VCD holds levels of two kinds and volts,
CSV also a third level, WAV volts at even distances; pcapng is the log: it holds
all of it, doubts, tap and wall time too, in a few bytes a transition. Of a log
that was not ended or is damaged, the rest is converted, and what is lost told.

Exit status: 0 converted; 1 FROM could not be read, TO not written, or its format
cannot hold the recording; 2 wrong use; 130 interrupted. Unless it is 0, TO is
left as it was.

Examples:
  linewitness convert fixtures/recordings/meadow-bus-sound.vcd meadow.csv
  linewitness convert fixtures/recordings/alder-loop-sound.wav alder.pcapng
  linewitness convert --full-scale 40 --round \
      fixtures/recordings/alder-loop-supply-dips.wav alder.csv
`

// convertOptions are convert's options as given.
type convertOptions struct {
	net       string
	fullScale float64
	bits      bitsFlag
	round     bool
	format    string // of the target
}

func newConvert() *cobra.Command {
	var opt convertOptions
	cmd := &cobra.Command{
		Use:   "convert [OPTION]... FROM TO",
		Short: "Write a recording in another format",
		RunE: func(cmd *cobra.Command, files []string) error {
			if err := opt.check(files); err != nil {
				return err
			}
			std := streams{cmd.InOrStdin(), cmd.OutOrStdout(), cmd.ErrOrStderr()}
			return convertFile(cmd.Context(), opt, files[0], files[1], std)
		},
	}
	flags := cmd.Flags()
	flags.SortFlags = false
	flags.StringVar(&opt.net, "net", "", "which net of a VCD file")
	flags.Var(positive{&opt.fullScale}, "full-scale", "what +1.0 of a WAV file stands for")
	flags.Var(&opt.bits, "bits", "samples of a WAV file")
	flags.BoolVar(&opt.round, "round", false, "round instants to nanoseconds")
	completeWith(cmd, "bits", bitsNames())
	setHelp(cmd, convertHelp)
	return cmd
}

// check finds wrong use before anything is read or written.
func (o *convertOptions) check(files []string) (err error) {
	if len(files) != 2 {
		return fmt.Errorf("expected two FILEs, the one to read (- is standard input) and the one to write, found %d", len(files))
	}
	if o.format, err = file.FormatOf(files[1]); err != nil {
		return err
	}
	switch {
	case sameFile(files[0], files[1]):
		return fmt.Errorf("%s would overwrite the recording", files[1])
	case o.bits != (bitsFlag{}) && o.format != "wav":
		return errors.New("--bits is for a WAV file")
	}
	return nil
}

// bitsFlag is a flag that takes the kind of samples of a WAV.
type bitsFlag struct {
	bits  int
	float bool
}

var bitsKinds = []struct {
	name string
	bitsFlag
}{
	{"8", bitsFlag{8, false}}, {"16", bitsFlag{16, false}}, {"24", bitsFlag{24, false}}, {"32", bitsFlag{32, false}},
	{"float", bitsFlag{32, true}}, {"float64", bitsFlag{64, true}},
}

func bitsNames() []string {
	var names []string
	for _, k := range bitsKinds {
		names = append(names, k.name)
	}
	return names
}

func (f *bitsFlag) Type() string { return "BITS" }

func (f *bitsFlag) String() string {
	for _, k := range bitsKinds {
		if k.bitsFlag == *f {
			return k.name
		}
	}
	return ""
}

func (f *bitsFlag) Set(s string) error {
	for _, k := range bitsKinds {
		if k.name == s {
			*f = k.bitsFlag
			return nil
		}
	}
	return fmt.Errorf("expected 8, 16, 24, 32, float or float64, found %q", s)
}
