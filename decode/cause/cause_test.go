package cause

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestTableIsWhole(t *testing.T) {
	plain := map[string]Cause{}
	for i, r := range rows {
		c := Cause(i)
		if r.id == "" || r.plain == "" {
			t.Errorf("cause %d: empty id or phrase: %+v", i, r)
		}
		if strings.ToLower(r.id) != r.id || strings.ContainsAny(r.id, " _./") {
			t.Errorf("%s: an id is lower case with hyphens", r.id)
		}
		if strings.HasSuffix(r.plain, ".") {
			t.Errorf("%s: phrase ends in a full stop: %q", r.id, r.plain)
		}
		if other, ok := plain[r.plain]; ok {
			t.Errorf("%v and %v share the phrase %q", other, c, r.plain)
		}
		plain[r.plain] = c
		if got, err := Parse(c.String()); err != nil || got != c {
			t.Errorf("Parse(%q) = %v, %v", c.String(), got, err)
		}
	}
	if len(byID) != len(rows) {
		t.Errorf("%d different ids, want %d", len(byID), len(rows))
	}
}

func TestSides(t *testing.T) {
	for _, c := range All() {
		unit, line := c.PerUnit(), c.OnLine()
		switch c.Family() {
		case Sound:
			if unit || line {
				t.Errorf("%v: sound sits nowhere", c)
			}
		case Wiring, Other:
			if unit || !line {
				t.Errorf("%v: unit %v line %v, want the line only", c, unit, line)
			}
		case Board:
			if !unit || line {
				t.Errorf("%v: unit %v line %v, want a unit only", c, unit, line)
			}
		case Setup:
			if !line {
				t.Errorf("%v: setup can always sit at the line", c)
			}
		default:
			t.Errorf("%v: family %v", c, c.Family())
		}
	}
}

func TestFamilySizes(t *testing.T) {
	got := map[string]int{}
	for _, c := range All() {
		got[c.Family().String()]++
	}
	want := map[string]int{"sound": 1, "wiring": 11, "board": 9, "setup": 6, "other": 1}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("causes a family (-want +got):\n%s", d)
	}
}

func TestParseRefuses(t *testing.T) {
	for _, id := range []string{"", "None", "open", "open conductor", "cause 3"} {
		if c, err := Parse(id); err == nil {
			t.Errorf("Parse(%q) = %v, want an error", id, c)
		} else if !strings.Contains(err.Error(), `"`+id+`"`) {
			t.Errorf("Parse(%q): error does not say what was found: %v", id, err)
		}
	}
}

func TestUnknownValues(t *testing.T) {
	if got := Cause(200).String(); got != "cause 200" {
		t.Errorf("String = %q", got)
	}
	if got := Family(200).String(); got != "family 200" {
		t.Errorf("String = %q", got)
	}
	if c := Cause(200); c.Family() != FamilyUnknown || c.PerUnit() || c.OnLine() || c.Plain() == "" {
		t.Errorf("cause 200: %v %v %v %q", c.Family(), c.PerUnit(), c.OnLine(), c.Plain())
	}
	for _, c := range All() {
		if c == Unknown {
			t.Error("Unknown is no candidate")
		}
		if (len(c.Variants()) > 0) != (c == ReversedConductors) {
			t.Errorf("%v: variants %v", c, c.Variants())
		}
	}
}
