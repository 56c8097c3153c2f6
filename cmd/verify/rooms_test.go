package main

import (
	"fmt"
	"path"
	"slices"
	"strings"
)

const module = "linewitness"

// roomTable says which packages of ours each package may import, directly and
// outside its tests. Left of the colon stand the packages of one row, right of
// it what they may import: a package, or with /* all below a folder; a minus
// takes out again. What stands in a folder named internal belongs to the
// package above it: it may import that package and what that one may, and all
// at or below that package may import it.
//
// Test helpers, whose names end in "test", have no row: they may import what
// the package above them may, that package and all below it, and nothing but
// tests and other helpers may import them.
const roomTable = `
cmd/linewitness: * -cmd/*
cmd/fit: fixtures/* decode decode/* capture capture/*
cmd/verify:

fixtures:
fixtures/stage fixtures/line fixtures/units: fixtures fixtures/stage fixtures/line fixtures/units decode/link decode/link/linkfile decode/link/strict decode/circuit decode/cause decode/checksum decode/uart capture capture/burst

plots: decode decode/* capture

decode: decode/* capture capture/*
decode/verdict: decode/check decode/circuit decode/validate decode/statistic decode/cause capture
decode/check: decode/circuit decode/cause
decode/circuit: decode/cause
decode/learn: decode/uart decode/link decode/checksum capture capture/burst
decode/validate: decode/statistic decode/link decode/uart capture
decode/compare: decode/statistic decode/link capture
decode/statistic:
decode/tally: decode/link decode/uart capture capture/burst
decode/link/linkfile: decode/link decode/link/strict decode/checksum decode/uart capture
decode/link: decode/checksum decode/uart capture capture/burst
decode/link/strict:
decode/checksum:
decode/uart: capture capture/burst
decode/cause:

capture/burst capture/slicer capture/live: capture
capture/file: capture/vcd capture/csvfile capture/wav capture/pcapng capture
capture/vcd capture/csvfile capture/wav capture/pcapng: capture
capture:
`

// A roomRules maps each package of the table to what it may import.
type roomRules map[string][]string

func parseRooms(table string) (roomRules, error) {
	rules := make(roomRules)
	for n, line := range strings.Split(table, "\n") {
		if strings.TrimSpace(line) == "" {
			continue
		}
		left, right, ok := strings.Cut(line, ":")
		if !ok {
			return nil, fmt.Errorf("table:%d: expected a colon in %q", n+1, line)
		}
		for _, room := range strings.Fields(left) {
			if _, twice := rules[room]; twice {
				return nil, fmt.Errorf("table:%d: %s has two rows", n+1, room)
			}
			rules[room] = strings.Fields(right)
		}
	}
	return rules, nil
}

// matches tells whether pkg is what pattern names: itself, or all below x in "x/*".
func matches(pattern, pkg string) bool {
	if pattern == "*" {
		return true
	}
	if folder, all := strings.CutSuffix(pattern, "/*"); all {
		return strings.HasPrefix(pkg, folder+"/")
	}
	return pattern == pkg
}

func isHelper(pkg string) bool { return strings.HasSuffix(path.Base(pkg), "test") }

// inside tells whether pkg is folder or stands below it.
func inside(folder, pkg string) bool { return pkg == folder || strings.HasPrefix(pkg, folder+"/") }

// room is the package whose row counts for pkg.
func room(pkg string) string {
	if above, _, ok := strings.Cut(pkg, "/internal/"); ok {
		return above
	}
	return strings.TrimSuffix(pkg, "/internal")
}

// check returns what is wrong with the imports of one package, all given
// without the module's name.
func (r roomRules) check(pkg string, imports []string) []string {
	home, helper := room(pkg), isHelper(pkg)
	part := helper || home != pkg // of a room, beside the package itself
	if helper {
		home = room(path.Dir(pkg))
	}
	allowed, ok := r[home]
	if !ok {
		return []string{fmt.Sprintf("package %s is in no row of the table", pkg)}
	}
	var wrong []string
	for _, imp := range imports {
		switch {
		case isHelper(imp):
			if !helper {
				wrong = append(wrong, fmt.Sprintf("%s imports %s, which is for tests only", pkg, imp))
			}
		case room(imp) != imp && inside(room(imp), pkg):
		case imp == home && part || helper && inside(home, imp):
		case !permits(allowed, imp):
			wrong = append(wrong, fmt.Sprintf("%s may not import %s", pkg, imp))
		}
	}
	return wrong
}

func permits(allowed []string, pkg string) bool {
	yes := func(p string) bool { return !strings.HasPrefix(p, "-") && matches(p, pkg) }
	no := func(p string) bool { return strings.HasPrefix(p, "-") && matches(p[1:], pkg) }
	return slices.ContainsFunc(allowed, yes) && !slices.ContainsFunc(allowed, no)
}
