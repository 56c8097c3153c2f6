// Package check knows the checks that a person can make at a line, what leads a hand into danger while making them, and
// which of them is worth most next.
//
// A Check has outcomes, and a small table says which outcome each cause leads to. For weighs a recording's candidates
// with these tables: a check is worth the information in bits that its outcome is expected to give about them. Checks
// that can be made with the power off or without touching anything come first, whatever they are worth.
//
// What a meter shows is foretold by lines drawn for each cause (package circuit), weighted by what the recording and earlier readings
// showed. The other checks have tables, deterministic but for a share of 5 % spread over all outcomes (people misread, units differ); the
// same share of every reading by meter says nothing. What is common practice of the trade and has no source is marked so.
package check

import (
	"math"
	"slices"
	"sync"

	"linewitness/decode/cause"
	"linewitness/decode/circuit"
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

	outcomes []string // of a check by meter: none, the circuit foretells its figures
	table    []leads
	says     map[string][]int // which outcomes a word stands for; nil: yes for the second, no for the first

	quantity *circuit.Quantity // what a meter is put to; nil: no meter
	metered  Kind              // on which range
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

// differs is by how much of the probability a candidate's outcomes are others than a sound line's for a check to separate them.
const differs = 0.3

// tells whether k can lead to other outcomes than a sound line does.
func (c *Check) tells(k cause.Cause) bool {
	if !known(k) || k == cause.None {
		return false
	}
	anew := NewCase(circuit.Nothing(), nil)
	sound := c.foretells(cause.None, "", anew)
	for _, side := range []string{"indoor", "outdoor"} {
		if apart(sound, c.foretells(k, side, anew)) >= differs {
			return true
		}
	}
	return false
}

// apart is the largest difference that two distributions give any event.
func apart(p, q []float64) float64 {
	sum := 0.0
	for i := range p {
		sum += max(0, p[i]-q[i])
	}
	return sum
}

// foretells is, not to be changed, the probability of each outcome if a known cause is true: by the table, or, of a meter, by the circuit's lines that are
// still likely.
func (c *Check) foretells(k cause.Cause, side string, of *Case) []float64 {
	if c.quantity == nil {
		return c.likelihood(k, side)
	}
	key := blankKey{c.ID, subject{k, placeOf(k, side)}}
	if of.blank {
		if p, ok := blanks.Load(key); ok {
			return p.([]float64)
		}
	}
	p := make([]float64, binsOf(c.metered))
	foretold(p, c.metered, c.quantity, of.Belief(k, side).lines)
	for i := range p {
		p[i] = (1-flat)*p[i] + flat/float64(len(p))
	}
	if of.blank {
		blanks.Store(key, p)
	}
	return p
}

// blanks are what meters are foretold to show where nothing is known, by check and cause; nobody changes them.
var blanks sync.Map

type blankKey struct {
	check string
	subject
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

// Outcomes lists what the check can show, as a person would say it; the first is a sound line's. A meter shows figures.
func (c *Check) Outcomes() []string { return slices.Clone(c.outcomes) }

// words are the outcomes that a word stands for.
func (c *Check) words(word string) []int {
	if of, ok := c.says[word]; ok {
		return of
	}
	switch word {
	case "yes":
		return []int{1}
	case "no":
		return []int{0}
	}
	return nil
}

// answered is what a word says of a candidate, in bits against a misread one, and how likely it is misread.
func (r *Reading) answered(k cause.Cause, side string) (bits, misread float64) {
	of := r.check.words(r.Value.Word)
	if r.Value.Unknown() || len(of) == 0 || len(r.check.outcomes) == 0 {
		return 0, 0
	}
	p, even := r.check.likelihood(k, side), 0.0
	sum := 0.0
	for _, i := range of {
		sum += p[i]
		even += 1 / float64(len(p))
	}
	return math.Log2(sum / even), flat * even / sum
}
