// Package check knows the checks that a person can make at a line, what leads a hand into danger while making them, and
// which of them is worth most next.
//
// A Check has outcomes, and a small table says which outcome each cause leads to. For weighs a recording's candidates
// with these tables: a check is worth the information in bits that its outcome is expected to give about them. Checks
// that can be made with the power off or without touching anything come first, whatever they are worth.
//
// The tables are deterministic but for a share of 5 % spread over all outcomes (people misread, units differ); they
// follow from the circuit (a loop of supply, two senders and two receivers, returned through N) and are written for a
// loop fed by the outdoor unit. What is common practice of the trade and has no source is marked so.
package check

import (
	"slices"

	"linewitness/decode/cause"
)

// Check is something a person can do that tells causes apart.
type Check struct {
	ID        string        // stable; the CHECK of a reading
	Do        string        // one order in plain English
	Caution   string        // empty only where no hand comes near a terminal
	Values    string        // what a reading of it looks like; empty: a recording to be examined
	Live      bool          // made with the supply on and a hand at a terminal
	Minutes   float64       // typical time of somebody with the tools at hand
	Separates []cause.Cause // the causes that lead to another outcome than a sound line
	Taps      []string      // recordings after which it makes sense; nil: all

	outcomes []string
	table    []leads
}

// leads says to which outcome causes lead, by its place among the check's outcomes. A cause that is not named leads to
// outcome 0; a later row overrides an earlier one.
type leads struct {
	to     int    // or open
	side   string // "indoor", "outdoor", or "" for any
	causes []cause.Cause
}

// open marks causes of which the check says nothing: every outcome is as likely.
const open = -1

// flat is the share of outcomes that do not follow the table.
const flat = 0.05

// All lists the checks, in a fixed order. The slices belong to the caller.
func All() []Check {
	all := checks()
	for i := range all {
		c := &all[i]
		for _, k := range cause.All() {
			if c.tells(k) {
				c.Separates = append(c.Separates, k)
			}
		}
	}
	return all
}

// tells whether k can lead to another outcome than a sound line does.
func (c *Check) tells(k cause.Cause) bool {
	if k == cause.OtherCause || k == cause.None {
		return false
	}
	sound := c.leadsTo(cause.None, "")
	for _, side := range []string{"indoor", "outdoor"} {
		if to := c.leadsTo(k, side); to != open && to != sound {
			return true
		}
	}
	return false
}

// leadsTo is the outcome of a cause at a side, or open.
func (c *Check) leadsTo(k cause.Cause, side string) int {
	to := 0
	for _, l := range c.table {
		if (l.side == "" || l.side == side || !k.PerUnit()) && slices.Contains(l.causes, k) {
			to = l.to
		}
	}
	return to
}

// likelihood, of a known cause, is the probability of each outcome if the candidate is true. At a side that is not known to be indoors or
// outdoors, both are as likely.
func (c *Check) likelihood(k cause.Cause, side string) []float64 {
	sides := []string{side}
	if side != "indoor" && side != "outdoor" {
		sides = []string{"indoor", "outdoor"}
	}
	p := make([]float64, len(c.outcomes))
	for _, s := range sides {
		to := c.leadsTo(k, s)
		for i := range p {
			switch {
			case to == open:
				p[i] += 1 / float64(len(p)*len(sides))
			default:
				p[i] += flat / float64(len(p)*len(sides))
				if i == to {
					p[i] += (1 - flat) / float64(len(sides))
				}
			}
		}
	}
	return p
}

// Outcomes lists what the check can show, as a person would say it; the first is a sound line's.
func (c *Check) Outcomes() []string { return slices.Clone(c.outcomes) }
