package file

import (
	"io"

	"linewitness/capture"
	"linewitness/capture/pcapng"
)

// Log is a recording from a log: what its end says, and what was damaged or noted in it.
type Log interface {
	Source
	Damage() []pcapng.Span // so far
	Notes() []pcapng.Note
}

// Torn tells whether the error of a log's source says that the log was not ended: what was given before is sound.
func Torn(err error) bool { return pcapng.Torn(err) }

// scaled turns the fractions of a log into volts where somebody says now what full scale was.
func scaled(r *pcapng.Reader, full float64) capture.Source {
	if full == 0 || !r.Info().Relative {
		return r
	}
	return &scaledLog{r, full}
}

type scaledLog struct {
	*pcapng.Reader
	full float64
}

func (s *scaledLog) Info() capture.Info {
	i := s.Reader.Info()
	i.Relative, i.FullScale = false, s.full
	return i
}

func (s *scaledLog) Next(b *capture.Block) error {
	err := s.Reader.Next(b)
	if err == nil {
		for i := range b.Volts {
			b.Volts[i] *= s.full
		}
	}
	return err
}

// logWriter is a log as a Writer: it leaves nothing out and moves nothing.
type logWriter struct{ *pcapng.Writer }

func newLog(w io.Writer, info capture.Info) (*logWriter, error) {
	l, err := pcapng.WriteTo(w, info)
	if err != nil {
		return nil, err
	}
	return &logWriter{l}, nil
}

func (*logWriter) Left() []string { return nil }
func (*logWriter) Moved() float64 { return 0 }
