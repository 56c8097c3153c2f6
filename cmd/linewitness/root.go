package main

import (
	"errors"
	"io"
	"runtime/debug"

	"github.com/spf13/cobra"
)

const rootHelp = `Usage:
  linewitness examine [OPTION]... FILE...   examine recordings of a signal line
  linewitness examine --list-checks         list the checks by hand
  linewitness compare [OPTION]... FILE FILE two taps at once, or before and after
  linewitness convert FILE FILE             one format of recordings into another
  linewitness profile FILE...               check and describe link profiles
  linewitness stage SCENARIO -o FILE        record a staged line with known faults
  linewitness completion SHELL              completion for bash, zsh, fish or powershell
  linewitness help COMMAND
  linewitness --version

Records of the signal line between the indoor and the outdoor unit of a split
air conditioner go in; out comes which side or which conductor is at fault, how
sure that is, on what evidence, what is cleared, and what to measure next.

Example:
  linewitness examine fixtures/recordings/meadow-bus-sound.vcd

` + safety

// safety stands wherever a hand is led to a terminal.
const safety = `CAUTION: any of L, N and S can be live, and a board's logic ground may stand at
mains potential. Isolate and lock off, prove dead, wait for the capacitors to
discharge, then connect; join nothing to a computer or an earthed instrument
except through reinforced isolation (IEC 61010, CAT III, 600 V). Protective
earth stays on. Moving parts start without warning. Local codes and licensed
practice come first.
`

func newRoot(stdin io.Reader, stdout, stderr io.Writer) *cobra.Command {
	root := &cobra.Command{
		Use:           "linewitness",
		Version:       version(),
		SilenceErrors: true,
		SilenceUsage:  true,
		RunE: func(*cobra.Command, []string) error {
			return errors.New("a command is missing: examine, compare, convert, profile, stage, completion or help")
		},
	}
	root.SetIn(stdin)
	root.SetOut(stdout)
	root.SetErr(stderr)
	root.SetVersionTemplate("linewitness {{.Version}}\n")
	setHelp(root, rootHelp)
	root.AddCommand(newExamine())
	root.AddCommand(newCompare())
	root.AddCommand(newConvert())
	root.AddCommand(newProfile())
	root.AddCommand(newStage())
	return root
}

// setHelp gives cmd its help text; the commands below it that have none of their own show cobra's.
func setHelp(cmd *cobra.Command, text string) {
	usual := cmd.HelpFunc()
	cmd.SetHelpFunc(func(c *cobra.Command, args []string) {
		if c != cmd {
			usual(c, args)
			return
		}
		_, _ = io.WriteString(c.OutOrStdout(), text)
	})
}

func version() string {
	if info, ok := debug.ReadBuildInfo(); ok && info.Main.Version != "" {
		return info.Main.Version
	}
	return "(unknown version)"
}
