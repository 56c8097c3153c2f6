package main

import (
	"context"
	"errors"
	"fmt"
	"reflect"

	"linewitness/capture"
	"linewitness/cmd/linewitness/internal/output"
	"linewitness/decode/compare"
	"linewitness/decode/link"
)

// comparison is one call of compare.
type comparison struct {
	compareOptions
	streams
	link  *link.Profile // nil: it is learned
	names [2]string
	from  string // the recording whose link both were read by; "" where that is each one's own, or a profile's
}

func compareFiles(ctx context.Context, opt compareOptions, names [2]string, std streams) error {
	c := &comparison{compareOptions: opt, streams: std, names: names}
	if opt.profile != "" {
		p, err := readProfile(opt.profile, std.in)
		if err != nil {
			report(std.err, err)
			return ended{statusFailed}
		}
		c.link = p
	}
	readings, err := c.readBoth(ctx)
	if err != nil {
		if ctx.Err() != nil {
			return ended{statusInterrupted}
		}
		report(std.err, err)
		return ended{statusFailed}
	}
	if readings[1] == nil {
		return ended{statusInterrupted} // while the first was read: there is nothing to compare
	}
	if err := c.answer(c.compare(readings)); err != nil {
		return &outputError{err}
	}
	if ctx.Err() != nil {
		return ended{statusInterrupted}
	}
	return nil
}

// readBoth reads both recordings by one link: the profile's, or where each shows another, the one that is proved better.
func (c *comparison) readBoth(ctx context.Context) (r [2]*reading, err error) {
	for i := range r {
		if i == 1 && ctx.Err() != nil {
			return r, nil
		}
		if r[i], err = c.read(ctx, i, c.link); err != nil {
			return r, err
		}
	}
	p, q := r[0].finding.Link, r[1].finding.Link
	if c.link != nil || ctx.Err() != nil || p == nil && q == nil || sameLink(p, q) {
		return r, nil
	}
	better, other := 0, 1
	if r[1].proof() > r[0].proof() {
		better, other = 1, 0
	}
	if c.names[other] == "-" || mayBlock(c.names[other]) {
		fmt.Fprintf(c.err, "linewitness: the recordings show different links, and %s cannot be read again by the better known one; --profile would say it\n", c.shown(other))
		return r, nil
	}
	c.from = c.names[better]
	again, err := c.read(ctx, other, r[better].finding.Link)
	if err != nil {
		return r, err
	}
	r[other] = again
	return r, nil
}

func (c *comparison) shown(i int) string {
	if c.names[i] == "-" {
		return "standard input"
	}
	return c.names[i]
}

// sameLink tells whether two links read a line alike.
func sameLink(p, q *link.Profile) bool {
	if p == nil || q == nil {
		return false
	}
	return p.Line.Speed == q.Line.Speed && p.Line.Format == q.Line.Format && p.Line.Inverted == q.Line.Inverted &&
		p.Framing.String() == q.Framing.String() && reflect.DeepEqual(p.Checksum, q.Checksum) && p.Timing.TwoTalkers == q.Timing.TwoTalkers &&
		p.Controller == q.Controller
}

// compare decides what the recordings are to each other, and compares them as that.
func (c *comparison) compare(r [2]*reading) *output.Comparison {
	out := &output.Comparison{First: r[0].finding, Second: r[1].finding, Names: [2]string{c.shown(0), c.shown(1)}, LinkFrom: c.from,
		Given: c.twoTaps || c.beforeAfter, Profile: c.link != nil}
	changes := compare.ChangesOf(questions(r[0], r[1]))
	out.Changes = &changes
	if c.beforeAfter {
		return out
	}
	if tap := r[0].tap; !c.twoTaps && tap == r[1].tap && (tap == capture.IndoorTerminal || tap == capture.OutdoorTerminal) {
		out.Why = "both are of the tap " + tap.String()
		return out
	}
	al := compare.Align(&r[0].rec, &r[1].rec)
	out.Alignment = al
	if out.TwoTaps = c.twoTaps || al.Sure(); !out.TwoTaps {
		out.Why = al.Why
		return out
	}
	out.Ends = endsOf(r[0].tap, r[1].tap)
	if al.Aligned {
		out.Losses = compare.LossesOf(&r[0].rec, &r[1].rec, al, out.Ends)
		conclusion := compare.Conclude(out.Losses, out.Ends)
		out.Conclusion = &conclusion
	}
	return out
}

// endsOf says which end each recording is of: the first is the indoor one unless a tap says otherwise.
func endsOf(first, second capture.Tap) compare.Ends {
	if first == capture.OutdoorTerminal || second == capture.IndoorTerminal && first != capture.IndoorTerminal {
		return compare.Ends{First: capture.Outdoor, Second: capture.Indoor}
	}
	return compare.Ends{First: capture.Indoor, Second: capture.Outdoor}
}

func (c *comparison) answer(out *output.Comparison) error {
	if !c.json {
		return output.WriteComparison(c.out, out)
	}
	line, err := output.AppendComparison(nil, out)
	if err == nil {
		_, err = c.out.Write(line)
	}
	return err
}

// errTooMany ends the reading of a recording that has more frames than can be aligned.
var errTooMany = errors.New("more than 2,000,000 frames: too many to align; compare a part of it, or say --before-after")
