package verdict_test

import (
	"testing"

	"linewitness/capture"
	"linewitness/decode/verdict"
)

// A conductor is named where something tells it, by the recording or by hand, and only then.
func TestConductors(t *testing.T) {
	t.Parallel()
	open := verdict.Judge(verdict.Input{Bare: true, Readings: read(t, "fault-shown=yes", "S-N@indoor=dc:steady:0.1V", "S-N@outdoor=dc:steady:24V", "S-S@line=ohm:over")})
	if v := open.Verdict; v.Conductor != "S" || v.String() != "open-conductor/line" {
		t.Errorf("S open by ohms: %v, conductor %q", v.Key, v.Conductor)
	}
	short := verdict.Judge(verdict.Input{Bare: true, Readings: read(t, "fault-shown=yes", "S-N@indoor=dc:steady:0V", "S-N@line=ohm:0.3",
		"S-N@outdoor,lifted=S,lifted-at=outdoor=dc:steady:30V")})
	if v := short.Verdict; v.Conductor != "S-N" || v.String() != "shorted-conductors/line" {
		t.Errorf("S to N by ohms: %v, conductor %q", v.Key, v.Conductor)
	}
	untold := verdict.Judge(verdict.Input{Bare: true, Readings: read(t, "fault-shown=yes", "S-N@indoor=dc:steady:0.1V", "S-N@outdoor=dc:steady:24V")})
	if v := untold.Verdict; v.Conductor != "" {
		t.Errorf("open, nobody knows which: conductor %q", v.Conductor)
	}
	if v := judge(counts{goodA: 400, cleanB: 400, tap: capture.Pair}).Verdict; v.Conductor != "" || v.Variant != "" {
		t.Errorf("a board's fault: conductor %q, variant %q", v.Conductor, v.Variant)
	}
}
