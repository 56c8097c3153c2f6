package circuit

import (
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"linewitness/decode/cause"
)

// netlist is the loop as ngspice takes it: diodes keep the currents' directions (an emission coefficient of 0.1 makes them switch within
// some tens of millivolts), the drops are sources, an open sender is left out.
func netlist(l *Line, q Quantity, feedOn, otherOn bool) string {
	f, o := l.unit(l.Feed), l.unit(l.Feed.other())
	var b strings.Builder
	b.WriteString("signal loop at rest\n.model way d(is=1e-12 n=0.1)\n")
	add := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	if feedOn {
		add("vs p 0 %g", math.Abs(l.Supply)-f.Drop)
		add("df p pf way")
		add("rf pf sf %g", f.Ohms)
	}
	if otherOn {
		add("ro so po %g", o.Ohms)
		add("do po pn way")
		add("vo pn 0 %g", o.Drop)
	}
	if !l.OpenS && q.Lifted == Between {
		add("rj sf so %g", l.JointS)
	}
	node := map[Place]string{l.Feed: "sf", l.Feed.other(): "so"}
	if at, leaks := l.leakAt(q.Lifted); leaks {
		add("rl %s 0 %g", node[at], l.Leak)
	}
	add("rm %s 0 %g", node[q.At], q.Meter.ohms())
	add("rx sf 0 1e12\nry so 0 1e12")
	add(".op\n.control\nrun\nprint v(%s)\n.endc\n.end", node[q.At])
	return b.String()
}

var outsideCauses = []cause.Cause{cause.None, cause.OpenConductor, cause.ShortedConductors, cause.PoorJoint, cause.Leakage, cause.VoltageSag,
	cause.SilentSender, cause.StuckSender, cause.LoopSupply, cause.NoPower}

var printed = regexp.MustCompile(`v\(s[fo]\) = (\S+)`)

// withoutOutside in the environment leaves out what needs other programs.
const withoutOutside = "LINEWITNESS_WITHOUT_OUTSIDE_CHECKS"

// What the closed form says of the line at rest is what ngspice computes of the same circuit, within 2 % and 0.05 V (its diodes are not
// ideal), in 31 lines sound and faulty, at both ends, S connected and lifted, with both meters and every state of the senders.
func TestRestAgreesWithCircuitSimulator(t *testing.T) {
	t.Parallel()
	if os.Getenv(withoutOutside) == "1" {
		t.Skipf("%s=1: not checked against ngspice", withoutOutside)
	}
	if _, err := exec.LookPath("ngspice"); err != nil {
		t.Fatalf("ngspice is needed for this check: install it, or set %s=1 (%v)", withoutOutside, err)
	}
	dir := t.TempDir()
	lines := []Line{plain()}
	for _, c := range outsideCauses {
		for _, d := range Draws(c, Between)[:3] {
			l := d.Faulty
			l.Order, l.OpenN, l.LiveS = RightOrder, false, 0 // mains is another circuit
			lines = append(lines, l)
		}
	}
	worst, n := 0.0, 0
	for i := range lines {
		l := &lines[i]
		q := Quantity{From: S, To: N, At: Indoor + Place(i%2), Lifted: Place(i % 3), Meter: Meter(i / 2 % 2)}
		feedOn, otherOn := i%4 != 1, i%5 != 2
		file := filepath.Join(dir, fmt.Sprintf("%d.cir", i))
		if err := os.WriteFile(file, []byte(netlist(l, q, feedOn && l.runs(l.Feed), otherOn && l.runs(l.Feed.other()))), 0o600); err != nil {
			t.Fatal(err)
		}
		out, err := exec.Command("ngspice", "-b", file).CombinedOutput()
		m := printed.FindSubmatch(out)
		if m == nil {
			t.Fatalf("ngspice: %v\n%s", err, out)
		}
		want, err := strconv.ParseFloat(string(m[1]), 64)
		if err != nil {
			t.Fatal(err)
		}
		got := math.Abs(l.volts(q, feedOn, otherOn))
		off := math.Abs(got - want)
		if off > 0.05+0.02*math.Abs(want) {
			t.Errorf("line %d, %+v, senders closed %v %v: %.4f V, ngspice %.4f\n%+v", i, q, feedOn, otherOn, got, want, l)
		}
		worst, n = math.Max(worst, off), n+1
	}
	t.Logf("%d lines, worst difference %.4f V", n, worst)
}
