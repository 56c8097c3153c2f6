package main

import (
	"encoding/json"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"
)

// An event is one line of go test -json; see go doc test2json and, for
// build-output and build-fail, go help buildjson.
type event struct {
	Action      string
	Package     string
	Test        string
	Elapsed     float64
	Output      string
	ImportPath  string
	FailedBuild string
}

// A packageResult is what became of one package's tests.
type packageResult struct {
	name     string
	action   string // pass, fail, or skip where there are no tests
	took     time.Duration
	tests    int
	coverage string   // "81.2%", or empty where not measured
	failed   []string // full names, a test that never ended included
	skipped  []skippedTest
	output   string // what a person needs to see of a failure
}

type skippedTest struct {
	name   string // package.Test
	reason string // what the test printed
}

// A folder folds the lines of go test -json into one result a package.
type folder struct {
	open  map[string]*openPackage
	build map[string]*strings.Builder // compiler output by import path
	stray strings.Builder             // lines that are no events
}

type openPackage struct {
	order  []string // tests in the order they started
	tests  map[string]*openTest
	output strings.Builder // of the package itself
	result packageResult
}

type openTest struct {
	output strings.Builder
	action string
}

func newFolder() *folder {
	return &folder{open: make(map[string]*openPackage), build: make(map[string]*strings.Builder)}
}

var coverageLine = regexp.MustCompile(`coverage: (\d+(?:\.\d+)?%) of statements`)

// add takes one line and returns the package's result when the line ends one.
func (f *folder) add(line []byte) *packageResult {
	var e event
	if err := json.Unmarshal(line, &e); err != nil || e.Action == "" {
		fmt.Fprintf(&f.stray, "%s\n", line)
		return nil
	}
	if e.ImportPath != "" {
		if e.Action == "build-output" {
			if f.build[e.ImportPath] == nil {
				f.build[e.ImportPath] = new(strings.Builder)
			}
			f.build[e.ImportPath].WriteString(e.Output)
		}
		return nil
	}
	p := f.open[e.Package]
	if p == nil {
		p = &openPackage{tests: make(map[string]*openTest)}
		f.open[e.Package] = p
	}
	if e.Test != "" {
		p.addTest(e)
		return nil
	}
	switch e.Action {
	case "output":
		if m := coverageLine.FindStringSubmatch(e.Output); m != nil {
			p.result.coverage = m[1]
		}
		p.output.WriteString(e.Output)
	case "pass", "fail", "skip":
		delete(f.open, e.Package)
		return f.finish(p, e)
	}
	return nil
}

func (p *openPackage) addTest(e event) {
	t := p.tests[e.Test]
	if t == nil {
		t = &openTest{}
		p.tests[e.Test] = t
		p.order = append(p.order, e.Test)
	}
	switch e.Action {
	case "output":
		t.output.WriteString(e.Output)
	case "pass":
		t.action = e.Action
		t.output.Reset() // nobody asks, and -json keeps every log line
	case "fail", "skip":
		t.action = e.Action
	}
}

// finish turns an open package into its result. A test that has started and
// not ended failed: its program died under it.
func (f *folder) finish(p *openPackage, e event) *packageResult {
	r := &p.result
	r.name, r.action = e.Package, e.Action
	r.took = time.Duration(e.Elapsed * float64(time.Second))
	r.tests = len(p.order)
	var out strings.Builder
	for _, name := range p.order {
		t, full := p.tests[name], e.Package+"."+name
		switch t.action {
		case "pass":
		case "skip":
			r.skipped = append(r.skipped, skippedTest{full, strings.TrimSpace(t.output.String())})
		default:
			r.failed = append(r.failed, full)
			out.WriteString(t.output.String())
		}
	}
	if e.Action == "fail" {
		if b := f.build[e.FailedBuild]; b != nil {
			out.WriteString(b.String())
		}
		out.WriteString(p.output.String())
	}
	r.output = out.String()
	return r
}

// unfinished lists packages whose closing event never came.
func (f *folder) unfinished() []string {
	var names []string
	for name := range f.open {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

// line is the package's line of the report.
func (r *packageResult) line() string {
	word := "ok"
	switch r.action {
	case "fail":
		word = "FAIL"
	case "skip":
		return fmt.Sprintf("-    %s (no tests)", r.name)
	}
	s := fmt.Sprintf("%-4s %-36s %4d tests %7.1f s", word, r.name, r.tests, r.took.Seconds())
	if r.coverage != "" {
		s += fmt.Sprintf("  %6s covered", r.coverage)
	}
	return s
}
