package check

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"linewitness/decode/circuit"
)

// Reading is what somebody found with a check.
type Reading struct {
	Check string // its id; volts between any two conductors at either unit have an id of that form
	Value Value
	Text  string // as it was given

	check *Check
}

func (r Reading) String() string { return r.Text }

// Kind is what a value is.
type Kind uint8

// The kinds: a word, volts on a DC or an AC range, ohms.
const (
	Word Kind = iota
	DC
	AC
	Resistance
)

// Value is what a check showed. Low and High are the ends of what swings, and equal otherwise; in volts or ohms, +Inf: over range.
type Value struct {
	Kind      Kind
	Word      string
	Low, High float64
	Swings    bool
	Meter     circuit.Meter
}

// Unknown tells that the check could not be made, or told nothing.
func (v Value) Unknown() bool { return v.Kind == Word && v.Word == unknown }

// Words with a meaning of their own.
const (
	unknown = "unknown"
	// History is the id of the reading that says what came before the fault.
	History = "history"
	// Demand is the id of the reading that says whether a call for cooling or heating stood while the line was recorded.
	Demand = "demand"
)

// Histories are the values of History.
func Histories() []string {
	return []string{"routine", "new-installation", "after-storm", "worked-for-years"}
}

// ParseReading reads CHECK=VALUE. The error says what was expected and what was found.
func ParseReading(s string) (Reading, error) {
	c, text, err := splitReading(s)
	if err != nil {
		return Reading{}, err
	}
	return c.Read(text)
}

// Read reads a value of a check.
func (c *Check) Read(text string) (Reading, error) {
	text = strings.TrimSpace(text)
	r := Reading{Check: c.ID, Text: c.ID + "=" + text, check: c}
	var err error
	if r.Value, err = c.value(text); err != nil {
		return Reading{}, fmt.Errorf("%s: %w", c.ID, err)
	}
	return r, nil
}

// Answer reads a value as somebody types it when asked: besides what Read takes, a figure alone, two with .. between, or the word over.
func (c *Check) Answer(text string) (Reading, error) {
	r, err := c.Read(text)
	if err == nil {
		return r, nil
	}
	text = strings.TrimSuffix(strings.ReplaceAll(text, " ", ""), "V")
	for _, full := range c.shorthand(text) {
		if r, err := c.Read(full); err == nil {
			return r, nil
		}
	}
	return Reading{}, err
}

// shorthand is what a short answer may stand for.
func (c *Check) shorthand(text string) []string {
	switch {
	case c.Values == ohms:
		return []string{"ohm:" + text}
	case c.Values == volts && c.metered == AC:
		return []string{"ac:" + text + "V"}
	case c.Values == volts:
		return []string{"dc:steady:" + text + "V", "dc:swings:" + text + "V"}
	}
	for _, word := range strings.Split(c.Values, "|") {
		if text != "" && strings.HasPrefix(word, strings.ToLower(text)) {
			return []string{word}
		}
	}
	return nil
}

// Find is the check of that id.
func Find(id string) (Check, bool) {
	for _, c := range append(checks(), historyCheck) {
		if c.ID == id {
			return c, true
		}
	}
	return Check{}, false
}

// splitReading finds the check and the text of its value. An id may have = in it, so known ids go first.
func splitReading(s string) (*Check, string, error) {
	all := append(checks(), historyCheck)
	slices.SortFunc(all, func(a, b Check) int { return len(b.ID) - len(a.ID) })
	for i := range all {
		if text, ok := strings.CutPrefix(s, all[i].ID+"="); ok {
			return &all[i], text, nil
		}
	}
	id, _, ok := strings.Cut(s, "=")
	if !ok {
		return nil, "", fmt.Errorf("expected CHECK=VALUE, found %q", s)
	}
	if !strings.Contains(id, "@") {
		return nil, "", fmt.Errorf("unknown check %q; the checks are listed by examine --list-checks", id)
	}
	q, text, err := parseQuantity(s)
	if err != nil {
		return nil, "", fmt.Errorf("%q: %w", s, err)
	}
	for i := range all {
		if all[i].quantity != nil && *all[i].quantity == q && all[i].Values == volts {
			return &all[i], text, nil
		}
	}
	id = quantityID(q)
	return &Check{ID: id, Do: "Measure the volts " + id + " with the meter.", Caution: atMeter, Values: volts, Live: true, Minutes: 5, quantity: &q}, text, nil
}

// historyCheck asks for the prior.
var historyCheck = Check{ID: History, Values: strings.Join(Histories(), "|"),
	Do: "What came before the fault: routine, new-installation, after-storm or worked-for-years?"}

// parseQuantity reads FROM-TO@PLACE[,lifted=S][,lifted-at=PLACE]=VALUE.
func parseQuantity(s string) (q circuit.Quantity, value string, err error) {
	from, rest, _ := strings.Cut(s, "-")
	to, rest, _ := strings.Cut(rest, "@")
	end := strings.IndexAny(rest, ",=")
	if end < 0 {
		return q, "", errors.New("expected FROM-TO@PLACE[,lifted=S][,lifted-at=outdoor]=VALUE")
	}
	if q.From, err = circuit.ParseConductor(from); err != nil {
		return q, "", err
	}
	if q.To, err = circuit.ParseConductor(to); err != nil {
		return q, "", err
	}
	if q.From == q.To {
		return q, "", fmt.Errorf("expected two conductors, found %s twice", from)
	}
	if q.At, err = circuit.ParsePlace(rest[:end]); err != nil || q.At == circuit.Between {
		return q, "", fmt.Errorf("expected a place indoor or outdoor, found %q", rest[:end])
	}
	rest = rest[end:]
	if after, ok := strings.CutPrefix(rest, ",lifted=S"); ok {
		rest, q.Lifted = after, q.At
	}
	if after, ok := strings.CutPrefix(rest, ",lifted-at="); ok {
		name, _, _ := strings.Cut(after, "=")
		if q.Lifted, err = circuit.ParsePlace(name); err != nil || q.Lifted == circuit.Between {
			return q, "", fmt.Errorf("lifted-at: expected indoor or outdoor, found %q", name)
		}
		rest = after[len(name):]
	}
	value, ok := strings.CutPrefix(rest, "=")
	if !ok {
		return q, "", fmt.Errorf("expected ,lifted=S or ,lifted-at=PLACE or =VALUE, found %q", rest)
	}
	return q, value, nil
}

// quantityID names a quantity as a check.
func quantityID(q circuit.Quantity) string {
	id := fmt.Sprintf("%v-%v@%v", q.From, q.To, q.At)
	if q.Lifted != circuit.Between {
		id += fmt.Sprintf(",lifted=S,lifted-at=%v", q.Lifted)
	}
	return id
}

// value reads what a check of its kind can show.
func (c *Check) value(text string) (Value, error) {
	if text == unknown && c.Values != "" && c.ID != History {
		return Value{Kind: Word, Word: unknown}, nil
	}
	switch c.Values {
	case "":
		return Value{}, errors.New("its outcome is a recording: give that as FILE")
	case volts:
		return parseVolts(text)
	case ohms:
		return parseOhms(text)
	}
	words := strings.Split(c.Values, "|")
	if !slices.Contains(words, text) {
		return Value{}, fmt.Errorf("expected %s, found %q", strings.Join(words, ", "), text)
	}
	return Value{Kind: Word, Word: text}, nil
}

// parseVolts reads dc:steady:23.8V, dc:swings:0..24V or ac:230V, each with an optional ;meter=10M or ;meter=lowz.
func parseVolts(text string) (v Value, err error) {
	text, meter, given := strings.Cut(text, ";")
	if given {
		switch meter {
		case "meter=10M":
		case "meter=lowz":
			v.Meter = circuit.LowZ
		default:
			return v, fmt.Errorf("expected ;meter=10M or ;meter=lowz, found %q", ";"+meter)
		}
	}
	kind, rest, _ := strings.Cut(text, ":")
	switch kind {
	case "ac":
		v.Kind = AC
		v.Low, err = number(rest, "V", 0)
		v.High = v.Low
		return v, err
	case "dc":
		v.Kind = DC
		return v, v.parseDC(rest)
	}
	return v, fmt.Errorf("expected %s, found %q", volts, text)
}

// parseDC reads what follows dc:.
func (v *Value) parseDC(text string) (err error) {
	how, rest, _ := strings.Cut(text, ":")
	switch how {
	case "steady":
		v.Low, err = number(rest, "V", -mostVolts)
		v.High = v.Low
		return err
	case "swings":
		v.Swings = true
		low, high, ok := strings.Cut(rest, "..")
		if !ok {
			return fmt.Errorf("expected two volts such as 0..24V, found %q", rest)
		}
		if v.Low, err = number(strings.TrimSuffix(low, "V"), "", -mostVolts); err == nil {
			v.High, err = number(high, "V", -mostVolts)
		}
		v.Low, v.High = min(v.Low, v.High), max(v.Low, v.High)
		return err
	}
	return fmt.Errorf("expected dc:steady:23.8V or dc:swings:0..24V, found %q", "dc:"+text)
}

// parseOhms reads ohm:1.2, with k or M behind it, or ohm:over.
func parseOhms(text string) (v Value, err error) {
	v.Kind = Resistance
	rest, ok := strings.CutPrefix(text, "ohm:")
	if !ok {
		return v, fmt.Errorf("expected %s, found %q", ohms, text)
	}
	if rest == "over" {
		v.Low = math.Inf(1)
	} else if v.Low, err = ohmNumber(rest); err != nil {
		return v, err
	}
	v.High = v.Low
	return v, nil
}

func ohmNumber(s string) (float64, error) {
	scale := 1.0
	if cut, ok := strings.CutSuffix(s, "k"); ok {
		s, scale = cut, 1e3
	} else if cut, ok := strings.CutSuffix(s, "M"); ok {
		s, scale = cut, 1e6
	}
	x, err := strconv.ParseFloat(s, 64)
	if err != nil || !(x >= 0) || x*scale > mostOhms {
		return 0, fmt.Errorf("expected ohms from 0 to 100M, or over, found %q", s)
	}
	return x * scale, nil
}

// What a hand meter can show.
const (
	mostVolts = 1000
	mostOhms  = 100e6
)

// number reads a number with its unit.
func number(s, unit string, least float64) (float64, error) {
	text, ok := strings.CutSuffix(s, unit)
	x, err := strconv.ParseFloat(strings.TrimSpace(text), 64)
	if !ok || err != nil || !(x >= least && x <= mostVolts) {
		return 0, fmt.Errorf("expected a figure from %g to %d and the unit V, found %q", least, mostVolts, s)
	}
	return x, nil
}
