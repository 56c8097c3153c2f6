package main

import (
	"errors"
	"os"
	"os/exec"
	"strconv"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

// asCommand in the environment makes the test binary the command itself, for tests that need a process.
const asCommand = "LINEWITNESS_TEST_AS_COMMAND"

func TestMain(m *testing.M) {
	if os.Getenv(asCommand) != "" {
		os.Exit(process())
	}
	testscript.Main(m, map[string]func(){"linewitness": main})
}

func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		RequireExplicitExec: true,
		UpdateScripts:       os.Getenv("UPDATE_SCRIPTS") != "",
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"mkline": mkline,
			"cut":    cut,
			"status": exitStatus,
		},
	})
}

// exitStatus is the script command `status N COMMAND [ARG]...`: it runs the command, whose exit status must be N.
func exitStatus(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: status N COMMAND [ARG]...")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	if err := ts.Exec(args[1], args[2:]...); err != nil {
		var exit *exec.ExitError
		if !errors.As(err, &exit) {
			ts.Fatalf("%v", err)
		}
		got = exit.ExitCode()
	}
	if got != want {
		ts.Fatalf("exit status %d, want %d", got, want)
	}
}

// cut is the script command `cut FROM TO BYTES`: TO becomes the first so many bytes of FROM.
func cut(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: cut FROM TO BYTES")
	}
	n, err := strconv.Atoi(args[2])
	ts.Check(err)
	b, err := os.ReadFile(ts.MkAbs(args[0]))
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), b[:n], 0o666))
}
