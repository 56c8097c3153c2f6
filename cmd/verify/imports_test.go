package main

import (
	"encoding/json"
	"errors"
	"io"
	"os"
	"os/exec"
	"path"
	"slices"
	"strings"
	"testing"
)

// TestRooms holds the tree against the table.
func TestRooms(t *testing.T) {
	rules, err := parseRooms(roomTable)
	if err != nil {
		t.Fatal(err)
	}
	dir, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	root, err := moduleRoot(dir)
	if err != nil {
		t.Fatal(err)
	}
	// -e: a package that does not build yet has imports all the same.
	cmd := exec.CommandContext(t.Context(), "go", "list", "-e", "-deps", "-json=ImportPath,Imports", "./...")
	cmd.Dir, cmd.Stderr = root, os.Stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	checked := 0
	for d := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p struct {
			ImportPath string
			Imports    []string
		}
		if err := d.Decode(&p); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatal(err)
		}
		pkg, ours := ownPath(p.ImportPath)
		if !ours {
			continue
		}
		checked++
		var imports []string
		for _, imp := range p.Imports {
			if own, ours := ownPath(imp); ours {
				imports = append(imports, own)
			}
		}
		for _, wrong := range rules.check(pkg, imports) {
			t.Error(wrong)
		}
	}
	if checked == 0 {
		t.Error("go list showed no package of ours")
	}
}

// ownPath cuts the module's name off the path of a package of ours.
func ownPath(pkg string) (string, bool) {
	if pkg == module {
		return ".", true
	}
	return strings.CutPrefix(pkg, module+"/")
}

// TestRoomsCheck tries the rules themselves on a small table.
func TestRoomsCheck(t *testing.T) {
	const table = `
cmd/tool: * -cmd/*
mid: low low/*
low/file: low/csv low
low/csv: low
low:
`
	rules, err := parseRooms(table)
	if err != nil {
		t.Fatal(err)
	}
	tests := []struct {
		name, pkg, imports string
		want               []string
	}{
		{"down", "mid", "low low/csv", nil},
		{"up", "low", "mid", []string{"low may not import mid"}},
		{"sideways", "low/csv", "low/file", []string{"low/csv may not import low/file"}},
		{"star", "cmd/tool", "mid low/file", nil},
		{"minus", "cmd/tool", "cmd/other", []string{"cmd/tool may not import cmd/other"}},
		{"own internal", "cmd/tool", "cmd/tool/internal/output", nil},
		{"row of internal", "cmd/tool/internal/output", "mid cmd/other", []string{"cmd/tool/internal/output may not import cmd/other"}},
		{"internal of the room above", "low/csv", "low/internal/text", nil},
		{"internal imports its room", "low/internal/text", "low", nil},
		{"internal imports up", "low/internal/text", "low/csv", []string{"low/internal/text may not import low/csv"}},
		{"unknown room", "attic", "", []string{"package attic is in no row of the table"}},
		{"unknown below a room", "low/wav", "low", []string{"package low/wav is in no row of the table"}},
		{"root package", ".", "", []string{"package . is in no row of the table"}},
		{"helper imported", "mid", "low/lowtest", []string{"mid imports low/lowtest, which is for tests only"}},
		{"helper imports its package", "low/csv/csvtest", "low/csv low", nil},
		{"helper imports a helper", "low/csv/csvtest", "low/lowtest", nil},
		{"helper imports below", "low/lowtest", "low low/csv low/file", nil},
		{"helper imports up", "low/lowtest", "mid", []string{"low/lowtest may not import mid"}},
		{"helper of no room", "attic/attictest", "", []string{"package attic/attictest is in no row of the table"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := rules.check(tt.pkg, strings.Fields(tt.imports)); !slices.Equal(got, tt.want) {
				t.Errorf("%s importing %q: got %q, want %q", tt.pkg, tt.imports, got, tt.want)
			}
		})
	}
	for _, bad := range []string{"no colon here", "low:\nlow: mid"} {
		if _, err := parseRooms(bad); err == nil {
			t.Errorf("table %q was taken", bad)
		}
	}
}

// TestRoomsPointDown proves that the table itself has no ring: whatever the
// code does, no two rooms may import each other, fixtures' three aside.
func TestRoomsPointDown(t *testing.T) {
	rules, err := parseRooms(roomTable)
	if err != nil {
		t.Fatal(err)
	}
	for a := range rules {
		for b := range rules {
			if a >= b || path.Dir(a) == "fixtures" && path.Dir(b) == "fixtures" {
				continue
			}
			if permits(rules[a], b) && permits(rules[b], a) {
				t.Errorf("%s and %s may import each other", a, b)
			}
		}
	}
}
