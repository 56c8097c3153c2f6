package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"slices"
	"strings"
	"time"
)

// An outsideNeed is something beside Go that tests use.
type outsideNeed struct {
	what     string
	pkg      string // Debian's package
	purpose  string
	always   bool     // needed even without outside checks
	programs []string // all of these are on the path, or
	include  string   // a C program with this header compiles
	library  string   // and links with this
}

// outsideNeeds is in order: headers can only be tried once there is a compiler.
var outsideNeeds = []outsideNeed{
	{what: "gcc", pkg: "gcc", programs: []string{"gcc"}, always: true,
		purpose: "the race detector, and the C peer of the Modbus tests"},
	{what: "C library headers", pkg: "libc6-dev", include: "stdlib.h", always: true,
		purpose: "the race detector, and the C peer of the Modbus tests"},
	{what: "modbus.h", pkg: "libmodbus-dev", include: "modbus/modbus.h", library: "modbus",
		purpose: "a Modbus peer that is not ours, which our frames must satisfy"},
	{what: "iverilog and vvp", pkg: "iverilog", programs: []string{"iverilog", "vvp"},
		purpose: "simulates a UART whose recordings we must read"},
	{what: "ngspice", pkg: "ngspice", programs: []string{"ngspice"},
		purpose: "simulates the circuit of a loop whose volts we must slice"},
	{what: "qemu for arm64", pkg: "qemu-user-static", programs: []string{"qemu-aarch64-static"},
		purpose: "runs the staged line on another processor, where it must give the same bytes"},
	{what: "socat", pkg: "socat", programs: []string{"socat"},
		purpose: "joins two pseudo-terminals into a serial line"},
	{what: "mbpoll", pkg: "mbpoll", programs: []string{"mbpoll"},
		purpose: "polls over that line as a Modbus controller"},
	{what: "chromium", pkg: "chromium", programs: []string{"chromium"},
		purpose: "shows the reports as a reader sees them"},
}

// present tells whether the machine has what n asks for.
func (j *job) present(ctx context.Context, n outsideNeed) bool {
	for _, p := range n.programs {
		if _, err := exec.LookPath(p); err != nil {
			return false
		}
	}
	if n.include == "" {
		return true
	}
	dir, err := os.MkdirTemp("", "verify")
	if err != nil {
		return false
	}
	defer os.RemoveAll(dir)
	source, program := dir+"/try.c", dir+"/try"
	text := "#include <" + n.include + ">\nint main(void) { return 0; }\n"
	if os.WriteFile(source, []byte(text), 0o600) != nil {
		return false
	}
	args := []string{"-o", program, source}
	if n.library != "" {
		args = append(args, "-l"+n.library)
	}
	var out bytes.Buffer
	return j.stream(ctx, &out, &out, "gcc", args...) == nil
}

// missing lists what this call needs and the machine lacks.
func (j *job) missing(ctx context.Context) []outsideNeed {
	var list []outsideNeed
	for _, n := range outsideNeeds {
		if (n.always || !j.withoutOutside) && !j.present(ctx, n) {
			list = append(list, n)
		}
	}
	return list
}

// missingReport names each need, its package and what it is for.
func missingReport(list []outsideNeed) string {
	var b strings.Builder
	var packages []string
	optional := false
	for _, n := range list {
		fmt.Fprintf(&b, "   missing: %s (Debian package %s): %s\n", n.what, n.pkg, n.purpose)
		packages = append(packages, n.pkg)
		optional = optional || !n.always
	}
	fmt.Fprintf(&b, "   to install: apt-get install --no-install-recommends %s\n", strings.Join(packages, " "))
	if optional {
		b.WriteString("   or run with --without-outside-checks, which leaves out the tests that need them\n")
	}
	return b.String()
}

func prerequisitesStage(ctx context.Context, j *job) error {
	list := j.missing(ctx)
	if len(list) > 0 && os.Geteuid() == 0 {
		if _, err := exec.LookPath("apt-get"); err == nil {
			if err := j.install(ctx, list); err != nil {
				j.show([]byte(missingReport(list)))
				return err
			}
			list = j.missing(ctx)
		}
	}
	if err := context.Cause(ctx); err != nil {
		return err // an interrupted trial looks like a missing header
	}
	if len(list) > 0 {
		j.show([]byte(missingReport(list)))
		return errors.New("programs that tests need are missing")
	}
	for _, n := range outsideNeeds {
		if n.always || !j.withoutOutside {
			j.printf("%s: there", n.what)
		} else {
			j.printf("%s: left out", n.what)
		}
	}
	return nil
}

// install fetches the packages of what is missing. Only root may call it.
func (j *job) install(ctx context.Context, list []outsideNeed) error {
	with := *j
	with.env = append(slices.Clone(j.env), "DEBIAN_FRONTEND=noninteractive")
	args := []string{"install", "-y", "--no-install-recommends"}
	for _, n := range list {
		args = append(args, n.pkg)
	}
	start := time.Now()
	if err := with.quiet(ctx, "apt-get", "update"); err != nil {
		return err
	}
	if err := with.quiet(ctx, "apt-get", args...); err != nil {
		return err
	}
	j.printf("installed %d packages in %s", len(list), seconds(time.Since(start)))
	return nil
}
