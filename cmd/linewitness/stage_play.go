package main

import (
	"context"
	"fmt"
	"io/fs"
	"strings"
	"time"

	"linewitness/decode/cause"
	"linewitness/fixtures/stage"
)

// shows says what a port can show of a cause. Levels, edges and what a probe does it never shows.
var shows = map[cause.Cause]string{
	cause.OpenConductor:       "silence from the far side, and no replies",
	cause.ShortedConductors:   "silence, and no replies",
	cause.ReversedConductors:  "silence or damaged characters; not the mains that may stand on S",
	cause.VoltageSag:          "characters damaged or missing in clusters, and restarts; not the fall of the volts",
	cause.MainsHum:            "characters damaged at one phase of the mains; not the sine",
	cause.ImpulseNoise:        "characters damaged or added in bursts; not the pulses",
	cause.Crosstalk:           "characters damaged or added; not the pulses",
	cause.PoorJoint:           "characters damaged or missing; not the noise and the levels",
	cause.IntermittentContact: "characters damaged or missing at any moment; not the bounce",
	cause.ExcessCapacitance:   "characters damaged, one side's more; not the curved edges",
	cause.Leakage:             "characters damaged or missing; not the levels",
	cause.SilentSender:        "polls and their repetitions, and no replies",
	cause.DeafReceiver:        "good replies, and the poll repeated all the same",
	cause.StuckSender:         "silence after a character of zeros",
	cause.ClockOff:            "now and then a damaged character; not the bit time",
	cause.DriverDistortion:    "damaged characters; not the length of the spaces",
	cause.BadChecksum:         "whole characters with a wrong sum",
	cause.LateReplies:         "replies that begin late",
	cause.Restarts:            "silence, and then start frames with counters at 0",
	cause.LoopSupply:          "silence, or characters damaged at one phase of the mains; not the levels",
	cause.NoPower:             "silence from the unit",
	cause.SpeedMismatch:       "polls without replies, or damaged characters",
	cause.TwoControllers:      "polls of two schedules, some of them damaged by each other",
	cause.WrongLink:           "frames of another link",
	cause.Addressing:          "polls without replies, or replies damaged by each other",
	cause.OtherCause:          "damaged characters, if any",
}

// playOn plays what the receiver at the tap hears to a port, or says why it can't show the scenario.
func (o *stageOptions) playOn(ctx context.Context, s *stage.Scenario, beside fs.FS, std streams) error {
	bar := newProgress(std.err, string(s.Name))
	ear, err := stage.Hear(ctx, s, stage.Options{Beside: beside, Progress: bar.share})
	bar.end()
	if err != nil {
		return err
	}
	if why := refusal(s, ear); why != "" {
		return fmt.Errorf("%s: a port can show nothing of it: %s", s.Name, why)
	}
	p, err := openPort(o.play, ear.Link.Line)
	if err != nil {
		return err
	}
	defer p.Close()
	fmt.Fprint(std.err, foreword(s, ear, o.play))
	done, err := play(ctx, p, ear.Octets)
	last := 0.0
	if done > 0 {
		last = ear.Octets[done-1].At
	}
	switch {
	case ctx.Err() != nil:
		fmt.Fprintf(std.err, "interrupted: %d of %s sent, up to %.3f s of %g s\n", done, counted(int64(len(ear.Octets)), "octet"), last, s.Seconds)
		return ended{statusInterrupted}
	case err != nil:
		return fmt.Errorf("%s: after %s, at %.3f s: %w", o.play, counted(int64(done), "octet"), last, err)
	}
	fmt.Fprintf(std.err, "%s sent in %g s\n", counted(int64(done), "octet"), s.Seconds)
	return nil
}

// refusal is why a port can show nothing of a scenario; empty: it can.
func refusal(s *stage.Scenario, e *stage.Ear) string {
	if why := portFormat(e.Link.Line); why != "" {
		return why
	}
	if len(e.Octets) == 0 {
		return fmt.Sprintf("the receiver of the %v unit hears not a single character", e.Side)
	}
	if len(s.Faults) > 0 && stage.SameOctets(e.Octets, e.Twin) {
		return "the octets and their times are the same as without the fault, which shows in levels and edges only"
	}
	return ""
}

// foreword says what will be played, and what of the faults it shows.
func foreword(s *stage.Scenario, e *stage.Ear, name string) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s: what the receiver of the %v unit hears, %s in %g s, at %g Bd %v to %s\n", s.Name, e.Side,
		counted(int64(len(e.Octets)), "octet"), s.Seconds, e.Link.Line.Speed, e.Link.Line.Format, name)
	b.WriteString("CAUTION: never to a line with a unit on it: it may start its fan or compressor on what it hears, and its signal line is joined to the mains\n")
	if len(s.Faults) == 0 {
		b.WriteString("a sound line\n")
	}
	for i := range s.Faults {
		c, err := cause.Parse(string(s.Faults[i].Cause))
		what, ok := shows[c]
		switch {
		case err != nil:
		case ok:
			fmt.Fprintf(&b, "%v shows as: %s\n", c, what)
		default:
			fmt.Fprintf(&b, "%v does not show at a port\n", c)
		}
	}
	bad := 0
	for _, o := range e.Octets {
		if o.Bad {
			bad++
		}
	}
	if bad > 0 {
		fmt.Fprintf(&b, "%s broke parity or stop element; a port sends them with right ones\n", counted(int64(bad), "of the octets", "of the octets"))
	}
	return b.String()
}

// play sends each octet at its time, or as soon after as it can; done counts those that were handed to the port.
func play(ctx context.Context, p port, octets []stage.Octet) (done int, err error) {
	s := newSender(p)
	began := time.Now()
	timer := time.NewTimer(0)
	defer timer.Stop()
	for i := range octets {
		timer.Reset(time.Until(began.Add(time.Duration(octets[i].At * float64(time.Second)))))
		select {
		case <-timer.C:
		case <-ctx.Done():
			return i, ctx.Err()
		}
		if err := s.send(ctx, []byte{byte(octets[i].Value)}); err != nil {
			return i, err
		}
	}
	return len(octets), s.drained(ctx)
}
