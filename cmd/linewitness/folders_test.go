package main

import (
	"path/filepath"
	"testing"
)

func TestFolders(t *testing.T) {
	one := folders{dir: "r"}
	if got := one.next("rooms/a.vcd"); got != "r" {
		t.Errorf("one recording: %s", got)
	}
	all := folders{dir: "r", several: true}
	for _, c := range []struct{ recording, want string }{
		{"rooms/a.vcd", "a"}, {"other/a.csv", "a-2"}, {"A.wav", "A-3"}, {"-", "standard-input"}, {"..", "recording"}, {".vcd", "recording-2"}, {"b.c.vcd", "b.c"},
	} {
		if got, want := all.next(c.recording), filepath.Join("r", c.want); got != want {
			t.Errorf("%s: %s, want %s", c.recording, got, want)
		}
	}
}
