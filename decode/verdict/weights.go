package verdict

import (
	"bytes"
	_ "embed"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strings"
	"sync"

	"linewitness/decode/cause"
)

// ModelSchema is the format of the model file, the value of its key schema.
const ModelSchema = "linewitness/verdict/1"

// Model is what was fitted on staged recordings, as its file has it. All weights are in bits.
type Model struct {
	Schema  string             `json:"schema"`
	Lines   int                `json:"lines"` // fitted on
	Worlds  []string           `json:"worlds"`
	Classes map[string]Weights `json:"classes"` // by Class
}

// Weights judge the recordings of one class of taps. A candidate's bits against sound are its cause's base, what each group of evidence
// says by itself times the group's weight in Evidence, and each sign times its weight, all over Temperature; no candidate gets more than
// Most.
type Weights struct {
	Temperature float64                       `json:"temperature"`
	Most        float64                       `json:"most"`     // largest probability that the calibration lines support
	Evidence    map[string]float64            `json:"evidence"` // by group
	Base        map[string]float64            `json:"base"`     // by cause
	Signs       map[string]map[string]float64 `json:"signs"`    // by sign and cause
}

//go:embed model.json
var modelFile []byte

// shipped is the program's own model, by class.
var shipped = sync.OnceValue(func() [Classes]*compiled {
	return Shipped().compile()
})

// Shipped is a copy of the program's own model.
func Shipped() *Model {
	m, err := ReadModel(bytes.NewReader(modelFile))
	if err != nil {
		panic(err) // the file is part of the program, and a test reads it
	}
	return m
}

// ReadModel reads a model file strictly.
func ReadModel(r io.Reader) (*Model, error) {
	d := json.NewDecoder(r)
	d.DisallowUnknownFields()
	m := &Model{}
	if err := d.Decode(m); err != nil {
		return nil, fmt.Errorf("model: byte %d: %w", d.InputOffset(), err)
	}
	return m, m.check()
}

// Write writes a model as its file has it.
func (m *Model) Write(w io.Writer) error {
	e := json.NewEncoder(w)
	e.SetIndent("", " ")
	return e.Encode(m)
}

// check tells what is wrong with a model.
func (m *Model) check() error {
	if m.Schema != ModelSchema {
		return fmt.Errorf("model: schema: expected %q, found %q", ModelSchema, m.Schema)
	}
	ids := map[string]bool{}
	for _, id := range Signs() {
		ids[id] = true
	}
	for class := range Classes {
		w, ok := m.Classes[Class(class).String()]
		switch {
		case !ok:
			return fmt.Errorf("model: class %q is missing", Class(class))
		case !(w.Temperature >= 1):
			return fmt.Errorf("model: class %q: temperature: expected 1 or more, found %v", Class(class), w.Temperature)
		case !(w.Most > 0.5 && w.Most < 1):
			return fmt.Errorf("model: class %q: most: expected a probability from 0.5 to 1, found %v", Class(class), w.Most)
		case len(w.Evidence) != Groups:
			return fmt.Errorf("model: class %q: evidence: expected the groups %s, found %d", Class(class), strings.Join(groupNames[:], ", "), len(w.Evidence))
		}
		for _, g := range groupNames {
			if x, ok := w.Evidence[g]; !ok || !(x >= 0 && x <= mostWeight) {
				return fmt.Errorf("model: class %q: evidence %q: expected 0 to %v, found %v", Class(class), g, mostWeight, x)
			}
		}
		for sign, of := range w.Signs {
			if !ids[sign] {
				return fmt.Errorf("model: class %q: unknown sign %q", Class(class), sign)
			}
			if err := causesOf(of); err != nil {
				return fmt.Errorf("model: class %q, sign %q: %w", Class(class), sign, err)
			}
		}
		if err := causesOf(w.Base); err != nil {
			return fmt.Errorf("model: class %q, base: %w", Class(class), err)
		}
	}
	return nil
}

func causesOf(of map[string]float64) error {
	for name := range of {
		if _, err := cause.Parse(name); err != nil {
			return err
		}
	}
	return nil
}

// mostWeight is the most that a group of evidence may count.
const mostWeight = 1.5

// compiled are the weights of a class by number.
type compiled struct {
	temperature, most float64
	evidence          [Groups]float64
	base              []float64   // by cause
	signs             [][]float64 // by sign and cause
}

func (m *Model) compile() (all [Classes]*compiled) {
	causes := 0
	for _, c := range cause.All() {
		causes = max(causes, int(c)+1)
	}
	row := func(of map[string]float64) []float64 {
		x := make([]float64, causes)
		for name, w := range of {
			if c, err := cause.Parse(name); err == nil {
				x[c] = w
			}
		}
		return x
	}
	for class := range Classes {
		w := m.Classes[Class(class).String()]
		c := &compiled{temperature: w.Temperature, most: w.Most, base: row(w.Base)}
		for g, name := range groupNames {
			c.evidence[g] = w.Evidence[name]
		}
		for _, id := range Signs() {
			c.signs = append(c.signs, row(w.Signs[id]))
		}
		all[class] = c
	}
	return all
}

// MostBits is how much one piece of evidence can say by itself.
const MostBits = 20

// clip keeps what one piece of evidence says within what can be claimed; differences between candidates that it speaks for stay.
func (e *Evidence) clip() {
	best := 0.0
	for _, b := range e.Bits {
		best = math.Max(best, b)
	}
	excess := math.Max(0, best-MostBits)
	for k, b := range e.Bits {
		e.Bits[k] = math.Max(-MostBits, b-excess)
	}
}
