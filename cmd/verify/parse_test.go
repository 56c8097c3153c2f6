package main

import (
	"errors"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestListed(t *testing.T) {
	tests := []struct {
		line string
		want fuzzTarget
		ok   bool
	}{
		{`{"Action":"output","Package":"m/a","Output":"FuzzReader\n"}`, fuzzTarget{"m/a", "FuzzReader"}, true},
		{`{"Action":"output","Package":"m/a","Output":"ok  \tm/a\t0.002s\n"}`, fuzzTarget{}, false},
		{`{"Action":"start","Package":"m/FuzzReader"}`, fuzzTarget{}, false},
		{`FuzzReader`, fuzzTarget{}, false},
	}
	for _, tt := range tests {
		got, ok := listed([]byte(tt.line))
		if ok != tt.ok || ok && got != tt.want {
			t.Errorf("%s: got %v, %v; want %v, %v", tt.line, got, ok, tt.want, tt.ok)
		}
	}
}

func TestExecutions(t *testing.T) {
	const out = `fuzz: elapsed: 0s, gathering baseline coverage: 0/3 completed
fuzz: elapsed: 0s, gathering baseline coverage: 3/3 completed, now fuzzing with 2 workers
fuzz: elapsed: 3s, execs: 12000 (4000/sec), new interesting: 1 (total: 4)
fuzz: elapsed: 5s, execs: 20001 (4000/sec), new interesting: 2 (total: 5)
PASS
`
	if got := executions([]byte(out)); got != "20001" {
		t.Errorf("got %s, want 20001", got)
	}
	if got := executions([]byte("PASS\n")); got != "?" {
		t.Errorf("got %s, want ?", got)
	}
}

func TestFirstCommand(t *testing.T) {
	tests := []struct{ name, readme, want string }{
		{"first of two", "# x\n```\ngo run ./cmd/linewitness examine a.vcd\ngo run ./cmd/linewitness examine b.vcd\n```\n", "go run ./cmd/linewitness examine a.vcd"},
		{"language and prompt", "```sh\n$ go run ./cmd/linewitness examine --json a.vcd\n```\n", "go run ./cmd/linewitness examine --json a.vcd"},
		{"in a later block", "```\ngo build ./...\n```\ntext\n~~~\ngo run ./cmd/linewitness examine a.vcd\n~~~\n", "go run ./cmd/linewitness examine a.vcd"},
		{"two lines", "```\ngo run ./cmd/linewitness examine \\\n    a.vcd\n```\n", "go run ./cmd/linewitness examine a.vcd"},
		{"line ends of Windows", "```\r\ngo run ./cmd/linewitness examine a.vcd\r\n```\r\n", "go run ./cmd/linewitness examine a.vcd"},
		{"outside a fence", "go run ./cmd/linewitness examine a.vcd\n", ""},
		{"after a fence", "```\nls\n```\ngo run ./cmd/linewitness examine a.vcd\n", ""},
		{"another command", "```\ngo run ./cmd/linewitness examined\n```\n", ""},
	}
	for _, tt := range tests {
		got, ok := firstCommand(tt.readme)
		if got != tt.want || ok != (tt.want != "") {
			t.Errorf("%s: got %q, %v; want %q", tt.name, got, ok, tt.want)
		}
	}
}

func TestReadmeStage(t *testing.T) {
	tests := []struct{ name, readme, wantErr string }{
		{"no file", "", "README.md"},
		{"no command", "# x\n", "no fenced line starts with"},
		{"command fails", "```\ngo run ./cmd/linewitness examine a.vcd\n```\n", "exit status"},
	}
	for _, tt := range tests {
		j, _ := toyJob(t, `func TestX(t *testing.T) {}`)
		if tt.readme != "" {
			if err := os.WriteFile(filepath.Join(j.root, "README.md"), []byte(tt.readme), 0o600); err != nil {
				t.Fatal(err)
			}
		}
		if err := readmeStage(t.Context(), j); err == nil || !strings.Contains(err.Error(), tt.wantErr) {
			t.Errorf("%s: got %v, want an error with %q", tt.name, err, tt.wantErr)
		}
	}
}

func TestMissingReport(t *testing.T) {
	compiler := outsideNeed{what: "gcc", pkg: "gcc", purpose: "the race detector", always: true}
	poller := outsideNeed{what: "mbpoll", pkg: "mbpoll", purpose: "polls a line"}
	const flagName = "--without-outside-checks"

	got := missingReport([]outsideNeed{compiler, poller})
	for _, want := range []string{
		"missing: gcc (Debian package gcc): the race detector\n",
		"missing: mbpoll (Debian package mbpoll): polls a line\n",
		"--no-install-recommends gcc mbpoll\n",
		flagName,
	} {
		if !strings.Contains(got, want) {
			t.Errorf("no %q in\n%s", want, got)
		}
	}
	if got := missingReport([]outsideNeed{compiler}); strings.Contains(got, flagName) {
		t.Errorf("the flag would not help here:\n%s", got)
	}
}

func TestParse(t *testing.T) {
	o, err := parse([]string{"--long", "--stage", "vet,format", "--without-outside-checks"})
	if err != nil || !o.long || !o.withoutOutside || o.list || strings.Join(o.stages, " ") != "vet format" {
		t.Errorf("got %+v, %v", o, err)
	}
	if _, err := parse([]string{"--help"}); !errors.Is(err, flag.ErrHelp) {
		t.Errorf("--help: got %v", err)
	}
	for _, bad := range [][]string{{"--nonsense"}, {"vet"}} {
		if _, err := parse(bad); err == nil {
			t.Errorf("%q was taken", bad)
		}
	}
}

func TestChoose(t *testing.T) {
	all := stages()
	got, err := choose(all, []string{"vet", " format"})
	if err != nil || len(got) != 2 || got[0].name != "format" || got[1].name != "vet" {
		t.Errorf("got %d stages, %v; want format and vet in that order", len(got), err)
	}
	for _, bad := range []string{"nonsense", ""} {
		if _, err := choose(all, []string{bad}); err == nil {
			t.Errorf("stage %q was taken", bad)
		}
	}
}

func TestModuleRoot(t *testing.T) {
	root := t.TempDir()
	deep := filepath.Join(root, "a", "b")
	if err := os.MkdirAll(deep, 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(root, "go.mod"), nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if got, err := moduleRoot(deep); got != root || err != nil {
		t.Errorf("got %q, %v; want %q", got, err, root)
	}
}
