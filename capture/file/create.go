package file

import (
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"linewitness/capture"
	"linewitness/capture/csvfile"
	"linewitness/capture/internal/rows"
	"linewitness/capture/vcd"
)

// Writer writes a recording. Write and Close give its first error; Close doesn't close the output.
type Writer interface {
	Write(*capture.Block) error
	Close() error
	Left() []string // what the file does not hold, in words; after Close
	Moved() float64 // by how many seconds rounding moved an instant at most
}

// CreateOptions of Create. Bits, Float and FullScale are those of a WAV.
type CreateOptions struct {
	Bits      int     // of a sample: 8, 16, 24, 32, of floating point 32 or 64; 0: floating point of 32
	Float     bool    //
	FullScale float64 // volts at +1.0; 0: that of the recording, which floating point can do without
	Round     bool    // instants that the format cannot hold are rounded to nanoseconds
}

// What Create and Write refuse and an option could change.
var (
	ErrInexact   = rows.ErrInexact                       // see CreateOptions.Round
	ErrRelative  = errors.New("full scale was not said") // see Options.FullScale
	ErrFullScale = errors.New("a full scale is missing") // see CreateOptions.FullScale
)

var endings = []string{".vcd", ".csv", ".wav", ".pcapng"}

// EndingError is a name that says no format.
type EndingError struct{ Name string }

func (e *EndingError) Error() string {
	return fmt.Sprintf("%s: expected a name that ends in .vcd, .csv, .wav or .pcapng", e.Name)
}

// FormatOf is the format that the ending of a name says: vcd, csv, wav or pcapng. The error is an *EndingError.
func FormatOf(name string) (format string, err error) {
	ending := strings.ToLower(filepath.Ext(name))
	if !slices.Contains(endings, ending) {
		return "", &EndingError{name}
	}
	return ending[1:], nil
}

// Create makes a writer of a recording in a format as FormatOf gives it. What the format cannot hold at all is refused
// at once where info shows it, and else at the block that has it. A WAV needs up to 65,536 samples before it writes
// any: their distance must be known first.
func Create(w io.Writer, format string, info capture.Info, opt CreateOptions) (Writer, error) {
	if info.Relative && format != "wav" && format != "pcapng" {
		return nil, fmt.Errorf("%s: expected volts, found fractions of full scale: %w", format, ErrRelative)
	}
	var wr Writer
	var err error
	switch format {
	case "vcd":
		wr, err = writer(vcd.NewWriter(w, info, vcd.WriteOptions{Round: opt.Round}))
	case "csv":
		wr, err = writer(csvfile.NewWriter(w, info, csvfile.WriteOptions{Round: opt.Round}))
	case "wav":
		wr, err = writer(newWave(w, info, opt))
	case "pcapng":
		return writer(newLog(w, info))
	default:
		return nil, &capture.UnsupportedError{Name: format, What: "writing of " + format + " files"}
	}
	if err != nil {
		return nil, err
	}
	return &described{wr, headLeft(info, format)}, nil
}

// writer makes no interface of a nil pointer.
func writer[W Writer](w W, err error) (Writer, error) {
	if err != nil {
		return nil, err
	}
	return w, nil
}

// described is a writer that leaves out parts of the recording's head too.
type described struct {
	Writer
	head []string
}

func (d *described) Left() []string { return append(slices.Clone(d.head), d.Writer.Left()...) }

// headLeft is what neither VCD nor CSV nor WAV holds of a recording's head.
func headLeft(info capture.Info, format string) []string {
	var left []string
	if info.Tap != capture.TapUnknown {
		left = append(left, "the tap, "+info.Tap.String())
	}
	if !info.Start.IsZero() {
		left = append(left, "the wall time of its start, "+info.Start.Format(time.RFC3339Nano))
	}
	if info.FullScale > 0 && !info.Relative && format != "wav" {
		left = append(left, fmt.Sprintf("the full scale, %v V", info.FullScale))
	}
	return left
}
