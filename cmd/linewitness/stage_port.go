package main

import (
	"context"
	"errors"
	"fmt"
	"time"

	"go.bug.st/serial"

	"linewitness/decode/uart"
)

// port is what a serial port must do to be played to.
type port interface {
	Write([]byte) (int, error)
	Drain() error
	Close() error
}

// openPort opens a serial port for a line's speed and character format.
func openPort(name string, l uart.Line) (port, error) {
	mode := serial.Mode{BaudRate: int(l.Speed), DataBits: int(l.Format.DataBits)}
	switch l.Format.Parity {
	case uart.ParityEven:
		mode.Parity = serial.EvenParity
	case uart.ParityOdd:
		mode.Parity = serial.OddParity
	case uart.ParityMark:
		mode.Parity = serial.MarkParity
	case uart.ParitySpace:
		mode.Parity = serial.SpaceParity
	}
	if l.Format.StopHalfs == 4 {
		mode.StopBits = serial.TwoStopBits
	}
	p, err := serial.Open(name, &mode)
	var said *serial.PortError
	if errors.As(err, &said) {
		return nil, fmt.Errorf("%s: %s", name, said.Error())
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return p, nil
}

// portFormat is why a port can't send characters of a line; empty: it can.
func portFormat(l uart.Line) string {
	switch {
	case l.Format.DataBits > 8:
		return fmt.Sprintf("its characters have %d data bits, and ports send at most 8", l.Format.DataBits)
	case l.Format.StopHalfs == 3:
		return "its characters have one and a half stop elements, which ports do not send"
	case l.Speed != float64(int(l.Speed)):
		return fmt.Sprintf("its speed, %g Bd, is no whole number", l.Speed)
	}
	return ""
}

// sender hands octets to a port whose Write may block for ever: it then stays behind, and the process ends soon after.
type sender struct {
	port   port
	octets chan []byte
	ended  chan error
}

func newSender(p port) *sender {
	s := &sender{port: p, octets: make(chan []byte), ended: make(chan error, 1)} // one: nobody may be there to take it
	go func() {
		for b := range s.octets {
			if _, err := p.Write(b); err != nil {
				s.ended <- err
				return
			}
		}
		s.ended <- p.Drain()
	}()
	return s
}

// send hands octets over, unless ctx ends first.
func (s *sender) send(ctx context.Context, b []byte) error {
	select {
	case s.octets <- b:
		return nil
	case err := <-s.ended:
		return err
	case <-ctx.Done():
		return ctx.Err()
	}
}

// drained waits a while until all was sent.
func (s *sender) drained(ctx context.Context) error {
	close(s.octets)
	late := time.NewTimer(patience)
	defer late.Stop()
	select {
	case err := <-s.ended:
		return err
	case <-late.C:
		return errors.New("the port does not send what it was given")
	case <-ctx.Done():
		return ctx.Err()
	}
}
