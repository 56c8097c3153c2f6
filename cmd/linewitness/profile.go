package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"linewitness/cmd/linewitness/internal/output"
	"linewitness/decode/link"
	"linewitness/decode/link/linkfile"
)

const profileHelp = `Usage:
  linewitness profile FILE...
  linewitness profile --schema

Reads link profiles, says what is wrong with them, and describes those that are
right: kind of link, speed, framing, checksum, dialogue, frames and their fields.

Options:
      --schema         print the JSON Schema of a profile, by which an editor
                       completes and checks one while it is written
  -h, --help           print this help

FILE is a profile in YAML; - is standard input. fixtures/profiles has examples.

Exit status: 0 all are right; 1 one is not, or cannot be read (the rest go on);
2 wrong use.

Examples:
  linewitness profile fixtures/profiles/heron-loop.yaml
  linewitness profile --schema > profile.schema.json
  linewitness examine --profile fixtures/profiles/heron-loop.yaml \
      fixtures/recordings/heron-loop-cooling.csv
`

func newProfile() *cobra.Command {
	var schema bool
	cmd := &cobra.Command{
		Use:   "profile FILE...",
		Short: "Check and describe link profiles",
		RunE: func(cmd *cobra.Command, files []string) error {
			std := streams{cmd.InOrStdin(), cmd.OutOrStdout(), cmd.ErrOrStderr()}
			switch {
			case schema && len(files) > 0:
				return errors.New("--schema takes no FILE")
			case schema:
				if _, err := std.out.Write(linkfile.Schema()); err != nil {
					return &outputError{err}
				}
				return nil
			case len(files) == 0:
				return errors.New("a FILE is missing (- is standard input)")
			}
			return describeAll(cmd.Context(), files, std)
		},
	}
	cmd.Flags().BoolVar(&schema, "schema", false, "print the JSON Schema of a profile")
	setHelp(cmd, profileHelp)
	return cmd
}

// describeAll describes profiles in order; those with faults are reported.
func describeAll(ctx context.Context, files []string, std streams) error {
	failed, shown := false, false
	for _, name := range files {
		if ctx.Err() != nil {
			return ended{statusInterrupted}
		}
		p, err := readProfile(name, std.in)
		if err != nil {
			failed = true
			report(std.err, err)
			continue
		}
		if shown {
			if _, err := io.WriteString(std.out, "\n"); err != nil {
				return &outputError{err}
			}
		}
		shown = true
		if err := output.WriteProfile(std.out, p); err != nil {
			return &outputError{err}
		}
	}
	if failed {
		return ended{statusFailed}
	}
	return nil
}

// mostProfile is more than a profile may have: linkfile refuses it.
const mostProfile = 2 << 20

// readProfile reads a profile by name, - for standard input.
func readProfile(name string, stdin io.Reader) (*link.Profile, error) {
	in, shown := stdin, name
	if name == "-" {
		shown = "standard input"
	} else {
		f, err := os.Open(name)
		if err != nil {
			return nil, err
		}
		defer f.Close()
		in = f
	}
	data, err := io.ReadAll(io.LimitReader(in, mostProfile))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", shown, plainPath(err))
	}
	return linkfile.Read(shown, data)
}

// plainPath is what is behind the name of a file in an error.
func plainPath(err error) error {
	var path *os.PathError
	if errors.As(err, &path) {
		return path.Err
	}
	return err
}
