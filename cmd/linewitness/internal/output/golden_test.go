package output

import (
	"flag"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"

	"linewitness/decode"
)

var update = flag.Bool("update", false, "rewrite the golden files")

func findings() map[string]*decode.Finding {
	return map[string]*decode.Finding{"silent-outdoor": silentOutdoor(), "nothing": nothing(), "undecided": undecided(), "sound": sound(),
		"dipping": dipping(), "alone": alone()}
}

func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	name = filepath.Join("testdata", name)
	if *update {
		if err := os.MkdirAll("testdata", 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, got, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(string(want), string(got)); d != "" {
		t.Errorf("%s (-want +got; -update rewrites):\n%s", name, d)
	}
}
