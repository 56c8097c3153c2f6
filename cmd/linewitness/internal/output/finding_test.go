package output

import (
	"bytes"
	"encoding/json"
	"sort"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"linewitness/capture"
	"linewitness/decode"
	"linewitness/decode/cause"
)

func lineOf(t *testing.T, f *decode.Finding) string {
	t.Helper()
	line, err := AppendFinding(nil, f)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.HasSuffix(line, []byte("}\n")) || bytes.Count(line, []byte("\n")) != 1 {
		t.Errorf("not one line: %q", line)
	}
	return string(line)
}

func TestFindingJSON(t *testing.T) {
	for name, f := range findings() {
		t.Run(name, func(t *testing.T) {
			var b bytes.Buffer
			if err := json.Indent(&b, []byte(lineOf(t, f)), "", "  "); err != nil {
				t.Fatal(err)
			}
			golden(t, name+".json", b.Bytes())
		})
	}
}

// contractKeys is every key of the contract's finding, by its path; [] goes into an array.
const contractKeys = `
schema
recording.name recording.tap recording.start recording.duration_s recording.transitions recording.samples recording.lost_s
link.kind link.speed_bd link.format link.inverted link.framing link.checksum link.checksum_covers link.checksum_at link.checksum_order link.learned
senders[].side senders[].frames senders[].good
senders[].bad.checksum senders[].bad.parity senders[].bad.stop senders[].bad.length senders[].bad.timing
senders[].speed_error_ppm senders[].bias_distortion_pct senders[].isochronous_distortion_pct senders[].turnaround_ms.p50 senders[].turnaround_ms.p99
unframed
verdict.family verdict.cause verdict.side verdict.conductor verdict.variant verdict.place verdict.probability verdict.explains_pct verdict.summary
candidates[].family candidates[].cause candidates[].side candidates[].probability
also[].cause also[].side also[].probability
cleared[].what cleared[].because
evidence[].id evidence[].says evidence[].value evidence[].low evidence[].high evidence[].unit evidence[].at_s
evidence[].bits.silent-sender/outdoor evidence[].bits.open-conductor/line
next_checks[].id next_checks[].do next_checks[].caution next_checks[].live next_checks[].minutes next_checks[].separates next_checks[].expected_gain_bits
`

// added are the keys that the contract does not name.
const added = `candidates[].prior_bits recording.tap_inferred levels
prior.history prior.flat.cause prior.flat.side prior.flat.probability prior.flat_differs verdict.explains_low_pct verdict.explains_high_pct actions[].do actions[].probability`

func TestFindingKeysAreTheContracts(t *testing.T) {
	var got any
	if err := json.Unmarshal([]byte(lineOf(t, silentOutdoor())), &got); err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	collect(seen, "", got)
	keys := []string{}
	for k := range seen {
		keys = append(keys, k)
	}
	want := strings.Fields(contractKeys + added)
	sort.Strings(keys)
	sort.Strings(want)
	if d := cmp.Diff(want, keys); d != "" {
		t.Errorf("keys (-contract +got):\n%s", d)
	}
}

func collect(seen map[string]bool, path string, v any) {
	switch v := v.(type) {
	case map[string]any:
		for k, below := range v {
			collect(seen, strings.TrimPrefix(path+"."+k, "."), below)
		}
	case []any:
		for _, below := range v {
			if _, ok := below.(map[string]any); !ok {
				seen[path] = true
				continue
			}
			collect(seen, path+"[]", below)
		}
	default:
		seen[path] = true
	}
}

// What was not measured is null; arrays and objects never are, and no key goes missing.
func TestUnmeasured(t *testing.T) {
	line := lineOf(t, nothing())
	for _, want := range []string{
		`"start":null`, `"speed_bd":null`, `"format":null`, `"inverted":null`, `"checksum":"unknown"`, `"checksum_covers":[]`,
		`"checksum_at":null`, `"checksum_order":null`, `"senders":[]`, `"candidates":[]`, `"also":[]`, `"cleared":[]`,
		`"evidence":[]`, `"next_checks":[]`, `"conductor":null`, `"variant":null`, `"place":null`, `"explains_pct":null`,
		`"family":"undetermined","cause":"unknown","side":"unknown"`,
	} {
		if !strings.Contains(line, want) {
			t.Errorf("no %s in %s", want, line)
		}
	}
	if line := lineOf(t, silentOutdoor()); !strings.Contains(line, `"frames":0,"good":0,"bad":{"checksum":0,"parity":0,"stop":0,"length":0,"timing":0},`+
		`"speed_error_ppm":null,"bias_distortion_pct":null,"isochronous_distortion_pct":null,"turnaround_ms":{"p50":null,"p99":null}`) {
		t.Errorf("a silent sender's figures are null: %s", line)
	}
}

func TestUndeterminedNamesNothing(t *testing.T) {
	f := undecided()
	f.Verdict.Conductor, f.Verdict.Variant, f.Verdict.Place = "S", "order-LS", "outdoor"
	line := lineOf(t, f)
	want := `"verdict":{"family":"undetermined","cause":"unknown","side":"unknown","conductor":null,"variant":null,"place":null,"probability":0.52,`
	if !strings.Contains(line, want) {
		t.Errorf("no %s in %s", want, line)
	}
}

func TestInstantsAscendAndStop(t *testing.T) {
	f := silentOutdoor()
	e := &f.Evidence[0]
	e.At = nil
	for i := range 30 {
		e.At = append(e.At, capture.Tick(30-i)*1_000_000)
	}
	want := `"at_s":[0.001,0.002,0.003,0.004,0.005,0.006,0.007,0.008,0.009,0.01,0.011,0.012,0.013,0.014,0.015,0.016,0.017,0.018,0.019,0.02],`
	if line := lineOf(t, f); !strings.Contains(line, want) {
		t.Errorf("no %s in %s", want, line)
	}
	if e.At[0] != 30_000_000 {
		t.Error("the finding's own instants were sorted")
	}
}

func TestNamesAreQuoted(t *testing.T) {
	f := nothing()
	f.Recording.Name = "a \"b\" <c>\n\xff.vcd"
	if line := lineOf(t, f); !strings.Contains(line, `"name":"a \"b\" <c>\n`) {
		t.Error(line)
	}
}

func TestSideNames(t *testing.T) {
	f := silentOutdoor()
	f.Senders[0].Side, f.Senders[1].Side = capture.SideA, capture.SideUnknown
	f.Also[0].Key = key(cause.PoorJoint, capture.Line)
	line := lineOf(t, f)
	for _, want := range []string{`"senders":[{"side":"a"`, `{"side":"unknown","frames":0`, `"also":[{"cause":"poor-joint","side":"line"`} {
		if !strings.Contains(line, want) {
			t.Errorf("no %s in %s", want, line)
		}
	}
}
