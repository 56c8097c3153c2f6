package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// toyJob writes a module of one package and returns a job in its folder and
// what the job prints.
func toyJob(t *testing.T, testFile string) (*job, *bytes.Buffer) {
	t.Helper()
	dir := t.TempDir()
	for name, text := range map[string]string{
		"go.mod":      "module toy\n\ngo 1.26\n",
		"toy.go":      "package toy\n\nfunc Twice(x int) int { return 2 * x }\n",
		"toy_test.go": "package toy\n\nimport \"testing\"\n\n" + testFile,
	} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	var out bytes.Buffer
	env := append(os.Environ(), "GOWORK=off", "GOFLAGS=")
	return &job{root: dir, env: env, stdout: &out, stderr: &out}, &out
}

func TestToyModule(t *testing.T) {
	outside := `func TestOutside(t *testing.T) { t.Skip("` + withoutOutsideVar + ` is set") }`
	tests := []struct {
		name, file string
		without    bool
		wantErr    string
		wantOut    []string
	}{
		{
			name:    "passes",
			file:    `func TestTwice(t *testing.T) { if Twice(2) != 4 { t.Fatal() } }`,
			wantOut: []string{"ok   toy", "100.0% covered"},
		},
		{
			name:    "skips",
			file:    `func TestLazy(t *testing.T) { t.Skip("not today") }`,
			wantErr: "tests skipped that must run: 1",
			wantOut: []string{"SKIPPED toy.TestLazy", "not today"},
		},
		{name: "outside check skips unasked", file: outside, wantErr: "tests skipped that must run: 1"},
		{name: "outside check left out", file: outside, without: true, wantOut: []string{"skipped toy.TestOutside: outside check, left out"}},
		{
			name:    "fails",
			file:    `func TestBad(t *testing.T) { t.Error("four is not five") }`,
			wantErr: "packages failed: 1, tests failed: 1",
			wantOut: []string{"FAIL toy", "four is not five"},
		},
		{
			name:    "does not build",
			file:    `func TestBad(t *testing.T) { nowhere() }`,
			wantErr: "packages failed: 1",
			wantOut: []string{"undefined: nowhere"},
		},
		{name: "has no test", file: `var _ testing.TB`, wantErr: "no test ran"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			j, out := toyJob(t, tt.file)
			j.withoutOutside = tt.without
			err := j.goTest(t.Context(), "-count=1", "-cover", "./...")
			if got := errorText(err); got != tt.wantErr {
				t.Errorf("got error %q, want %q", got, tt.wantErr)
			}
			for _, want := range tt.wantOut {
				if !strings.Contains(out.String(), want) {
					t.Errorf("no %q in\n%s", want, out)
				}
			}
		})
	}
}

func errorText(err error) string {
	if err == nil {
		return ""
	}
	return err.Error()
}
