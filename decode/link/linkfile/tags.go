package linkfile

import (
	"reflect"
	"strconv"
	"strings"
)

// limits are what a field's tags say of its value.
type limits struct {
	key           string
	required, hex bool
	least, most   float64 // of numbers, or of each number of a list
	bounded       bool
	items         [2]int // of a list; both 0: any
	enum          []string
	standard      string // default, as it would stand in a file
	hasStandard   bool
}

// limitsOf reads a field's tags. The tags are this package's own: a broken one panics in every test.
func limitsOf(f reflect.StructField) limits {
	l := limits{key: f.Tag.Get("json"), hex: f.Tag.Get("file") == "hex"}
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
			panic("linkfile: unknown tag " + tag)
		}
	}
	return l
}

func mustFloat(s string) float64 {
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		panic("linkfile: " + err.Error())
	}
	return v
}

// number writes a number as a person would.
func number(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
