package output

import (
	"bytes"
	"strings"
	"testing"

	"linewitness/decode/check"
)

// Every check is listed, and each that has a caution stands above it.
func TestWriteChecks(t *testing.T) {
	var b bytes.Buffer
	if err := WriteChecks(&b, check.All()); err != nil {
		t.Fatal(err)
	}
	text := b.String()
	flat := strings.Join(strings.Fields(text), " ")
	for _, c := range check.All() {
		if !strings.Contains(text, "\n"+c.ID+"\n") && !strings.HasPrefix(text, c.ID+"\n") {
			t.Errorf("no %s", c.ID)
		}
		for _, s := range []string{c.Do, c.Caution, c.Values} {
			if !strings.Contains(flat, strings.Join(strings.Fields(s), " ")) {
				t.Errorf("%s: no %q", c.ID, s)
			}
		}
	}
}
