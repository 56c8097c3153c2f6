package strict

import (
	"reflect"
	"strconv"
	"strings"
)

// limits are what a field's tags say of its value.
type limits struct {
	key           string
	required, hex bool
	down          int     // the file's number is divided by ten to this power
	least, most   float64 // of the file's numbers, or of each number of a list
	bounded       bool
	items         [2]int // of a list; both 0: any
	enum          []string
	standard      string // default, as it would stand in a file
	hasStandard   bool
}

// shares are the powers of ten of the tag file.
var shares = map[string]int{"percent": 2, "milli": 3, "micro": 6, "nano": 9, "pico": 12}

// limitsOf reads a field's tags. The tags are the caller's program's own: a broken one panics in every test.
func limitsOf(f reflect.StructField) limits {
	tag := f.Tag.Get("file")
	l := limits{key: f.Tag.Get("json"), hex: tag == "hex", down: shares[tag]}
	if tag != "" && !l.hex && l.down == 0 {
		panic("strict: unknown tag file:" + tag)
	}
	for _, tag := range strings.Split(f.Tag.Get("jsonschema"), ",") {
		name, value, _ := strings.Cut(tag, "=")
		switch name {
		case "":
		case "required":
			l.required = true
		case "minimum":
			l.least, l.bounded = mustFloat(value), true
		case "maximum":
			l.most, l.bounded = mustFloat(value), true
		case "minItems":
			l.items[0] = int(mustFloat(value))
		case "maxItems":
			l.items[1] = int(mustFloat(value))
		case "enum":
			l.enum = append(l.enum, value)
		case "default":
			l.standard, l.hasStandard = value, true
		default:
			panic("strict: unknown tag " + tag)
		}
	}
	return l
}

// standardFloat is the default in the struct's unit.
func (l limits) standardFloat() float64 {
	v, ok := (&Node{Text: l.standard}).Float(l.down)
	if !ok {
		panic("strict: the default " + l.standard + " is no number")
	}
	return v
}

func mustFloat(s string) float64 {
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		panic("strict: " + err.Error())
	}
	return v
}

// Number writes a number as a person would.
func Number(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
