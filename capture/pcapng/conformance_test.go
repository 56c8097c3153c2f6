package pcapng_test

import (
	"encoding/json"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"linewitness/capture"
	"linewitness/capture/pcapng"
)

// The conformance files of the module github.com/gopacket/gopacket (BSD), pcapgo/tests, made by a public generator, in both
// byte orders: none is a log, and each is refused with the reason, which counts the same packets in both orders.
func TestConformanceFiles(t *testing.T) {
	t.Parallel()
	var files []string
	for _, pattern := range []string{"tests/le/*.pcapng", "tests/be/*.pcapng"} {
		found, err := filepath.Glob(filepath.Join(conformance(t), "pcapgo", pattern))
		check(t, err)
		files = append(files, found...)
	}
	if len(files) < 54 {
		t.Fatalf("only %d files", len(files))
	}
	said := map[string]string{}
	for _, name := range files {
		data, err := os.ReadFile(name)
		check(t, err)
		if !pcapng.Recognise(data) {
			t.Errorf("%s: not recognised", filepath.Base(name))
		}
		_, _, err = read(data)
		var format *capture.FormatError
		if !errors.As(err, &format) || format.Expected != "the head record of a recording" {
			t.Errorf("%s: %v", filepath.Base(name), err)
			continue
		}
		base := filepath.Base(name)
		if before, twice := said[base]; twice && before != format.Found {
			t.Errorf("%s: %s in one byte order, %s in the other", base, before, format.Found)
		}
		said[base] = format.Found
	}
	for base, want := range map[string]string{ // of the names in the generator's own list: a comment, no packets, three sections
		"test001.pcapng": "packets of other kinds (4, link types 1)", "test010.pcapng": "no packet",
		"test202.pcapng": "packets of other kinds (6, link types 1, 0)",
	} {
		if said[base] != want {
			t.Errorf("%s: found %s, want %s", base, said[base], want)
		}
	}
}

// conformance is the module's folder.
func conformance(t *testing.T) string {
	cmd := exec.Command("go", "mod", "download", "-json", "github.com/gopacket/gopacket@v1.7.7")
	cmd.Dir = t.TempDir() // outside of this module: its go.mod stays as it is
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	var module struct{ Dir string }
	check(t, json.Unmarshal(out, &module))
	return module.Dir
}
