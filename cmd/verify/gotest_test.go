package main

import (
	"slices"
	"strings"
	"testing"
	"time"
)

// fold gives canned lines to a folder and returns the results in order.
func fold(t *testing.T, text string) (*folder, []*packageResult) {
	t.Helper()
	f := newFolder()
	var all []*packageResult
	for _, line := range strings.Split(strings.TrimSpace(text), "\n") {
		if r := f.add([]byte(line)); r != nil {
			all = append(all, r)
		}
	}
	return f, all
}

func TestFoldPassAndSkip(t *testing.T) {
	_, all := fold(t, `
{"Action":"start","Package":"m/a"}
{"Action":"run","Package":"m/a","Test":"TestGood"}
{"Action":"output","Package":"m/a","Test":"TestGood","Output":"chatter\n"}
{"Action":"pass","Package":"m/a","Test":"TestGood","Elapsed":0}
{"Action":"run","Package":"m/a","Test":"TestLazy"}
{"Action":"run","Package":"m/a","Test":"TestLazy/sub"}
{"Action":"output","Package":"m/a","Test":"TestLazy/sub","Output":"    a_test.go:5: no such program\n"}
{"Action":"skip","Package":"m/a","Test":"TestLazy/sub","Elapsed":0}
{"Action":"pass","Package":"m/a","Test":"TestLazy","Elapsed":0}
{"Action":"output","Package":"m/a","Output":"coverage: 81.2% of statements\n"}
{"Action":"pass","Package":"m/a","Elapsed":1.5}
{"Action":"output","Package":"m/b","Output":"?   \tm/b\t[no test files]\n"}
{"Action":"skip","Package":"m/b","Elapsed":0}
`)
	if len(all) != 2 {
		t.Fatalf("got %d results, want 2", len(all))
	}
	a, b := all[0], all[1]
	if a.action != "pass" || a.tests != 3 || a.coverage != "81.2%" || a.took != 1500*time.Millisecond || a.output != "" {
		t.Errorf("m/a: got %+v", *a)
	}
	want := []skippedTest{{"m/a.TestLazy/sub", "a_test.go:5: no such program"}}
	if !slices.Equal(a.skipped, want) {
		t.Errorf("skipped: got %q, want %q", a.skipped, want)
	}
	if b.action != "skip" || len(b.skipped) != 0 {
		t.Errorf("a package without tests is no skipped test: got %+v", *b)
	}
}

func TestFoldFailure(t *testing.T) {
	_, all := fold(t, `
{"Action":"run","Package":"m/a","Test":"TestBad"}
{"Action":"output","Package":"m/a","Test":"TestBad","Output":"    a_test.go:7: got 1, want 2\n"}
{"Action":"fail","Package":"m/a","Test":"TestBad","Elapsed":0}
{"Action":"run","Package":"m/a","Test":"TestGood"}
{"Action":"output","Package":"m/a","Test":"TestGood","Output":"chatter\n"}
{"Action":"pass","Package":"m/a","Test":"TestGood","Elapsed":0}
{"Action":"run","Package":"m/a","Test":"TestDies"}
{"Action":"output","Package":"m/a","Test":"TestDies","Output":"panic: oh\n"}
{"Action":"output","Package":"m/a","Output":"FAIL\tm/a\t0.1s\n"}
{"Action":"fail","Package":"m/a","Elapsed":0.1}
`)
	if len(all) != 1 {
		t.Fatalf("got %d results, want 1", len(all))
	}
	if want := []string{"m/a.TestBad", "m/a.TestDies"}; !slices.Equal(all[0].failed, want) {
		t.Errorf("failed: got %q, want %q", all[0].failed, want)
	}
	want := "    a_test.go:7: got 1, want 2\npanic: oh\nFAIL\tm/a\t0.1s\n"
	if all[0].output != want {
		t.Errorf("output: got %q, want %q", all[0].output, want)
	}
}

func TestFoldBuildFailure(t *testing.T) {
	f, all := fold(t, `
{"ImportPath":"m/a [m/a.test]","Action":"build-output","Output":"# m/a [m/a.test]\n"}
{"ImportPath":"m/a [m/a.test]","Action":"build-output","Output":"a/a_test.go:3:5: undefined: x\n"}
{"ImportPath":"m/a [m/a.test]","Action":"build-fail"}
{"Action":"start","Package":"m/a"}
{"Action":"output","Package":"m/a","Output":"FAIL\tm/a [build failed]\n"}
{"Action":"fail","Package":"m/a","Elapsed":0,"FailedBuild":"m/a [m/a.test]"}
go: something that is no event
`)
	if len(all) != 1 || all[0].action != "fail" {
		t.Fatalf("got %+v, want one failed package", all)
	}
	want := "# m/a [m/a.test]\na/a_test.go:3:5: undefined: x\nFAIL\tm/a [build failed]\n"
	if all[0].output != want {
		t.Errorf("output: got %q, want %q", all[0].output, want)
	}
	if got := f.stray.String(); got != "go: something that is no event\n" {
		t.Errorf("stray: got %q", got)
	}
}

func TestFoldUnfinished(t *testing.T) {
	f, all := fold(t, `
{"Action":"start","Package":"m/b"}
{"Action":"start","Package":"m/a"}
`)
	if got, want := f.unfinished(), []string{"m/a", "m/b"}; len(all) != 0 || !slices.Equal(got, want) {
		t.Errorf("unfinished: got %q, want %q", got, want)
	}
}

func TestSkipRule(t *testing.T) {
	allowed := map[string]string{"m/a.TestKnown": "needs a modem"}
	outside := "x_test.go:9: " + withoutOutsideVar + " is set"
	tests := []struct {
		name    string
		skip    skippedTest
		without bool
		want    string
	}{
		{"on the list", skippedTest{"m/a.TestKnown", "whatever"}, false, "needs a modem"},
		{"not on the list", skippedTest{"m/a.TestOther", "whatever"}, true, ""},
		{"a subtest is another name", skippedTest{"m/a.TestKnown/sub", ""}, false, ""},
		{"outside, asked for", skippedTest{"m/a.TestOther", outside}, true, "outside check, left out"},
		{"outside, not asked for", skippedTest{"m/a.TestOther", outside}, false, ""},
	}
	for _, tt := range tests {
		if got := skipRule(tt.skip, allowed, tt.without); got != tt.want {
			t.Errorf("%s: got %q, want %q", tt.name, got, tt.want)
		}
	}
}

func TestTotalCoverage(t *testing.T) {
	covered, total, err := totalCoverage(strings.NewReader(`mode: set
m/a.go:1.2,3.4 3 1
m/a.go:5.2,6.4 2 0
m/b.go:1.2,3.4 5 0
m/b.go:1.2,3.4 5 1
`))
	if covered != 8 || total != 10 || err != nil {
		t.Errorf("got %d of %d, %v; want 8 of 10", covered, total, err)
	}
	for _, bad := range []string{"m/a.go:1.2,3.4 3", "m/a.go:1.2,3.4 x 1"} {
		if _, _, err := totalCoverage(strings.NewReader(bad)); err == nil {
			t.Errorf("%q was taken", bad)
		}
	}
}
