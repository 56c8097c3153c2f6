package output

import (
	"bytes"
	"strings"
	"testing"
	"unicode/utf8"
)

func TestText(t *testing.T) {
	for name, f := range findings() {
		t.Run(name, func(t *testing.T) {
			var b bytes.Buffer
			if err := WriteText(&b, f); err != nil {
				t.Fatal(err)
			}
			golden(t, name+".txt", b.Bytes())
			for _, line := range strings.Split(b.String(), "\n") {
				if n := utf8.RuneCountInString(line); n > columns {
					t.Errorf("%d columns: %q", n, line)
				}
				if strings.HasSuffix(line, " ") {
					t.Errorf("blank at the end: %q", line)
				}
			}
		})
	}
}

func TestWrap(t *testing.T) {
	long := strings.Repeat("x", 100)
	for _, c := range []struct{ name, text, want string }{
		{"empty", "", "> \n"},
		{"one line", " a  b\n", "> a b\n"},
		{"long word", "a " + long + " b", "> a\n  " + long + "\n  b\n"},
		{"tied", strings.Repeat("x", 70) + " over\u00a099.9\u00a0%", "> " + strings.Repeat("x", 70) + "\n  over 99.9 %\n"},
		{"counts characters, not bytes", strings.Repeat("Ω", 78), "> " + strings.Repeat("Ω", 78) + "\n"},
	} {
		if got := string(appendWrapped(nil, "> ", "  ", c.text)); got != c.want {
			t.Errorf("%s: got %q, want %q", c.name, got, c.want)
		}
	}
}
