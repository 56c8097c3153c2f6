package draft_test

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"linewitness/cmd/linewitness/internal/draft"
)

func begin(t *testing.T, name, content string) *draft.Draft {
	t.Helper()
	d, err := draft.New(name)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := d.Write([]byte(content)); err != nil {
		t.Fatal(err)
	}
	return d
}

func holds(t *testing.T, dir string, want map[string]string) {
	t.Helper()
	found, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range found {
		got, err := os.ReadFile(filepath.Join(dir, f.Name()))
		if w, ok := want[f.Name()]; err != nil || !ok || w != string(got) {
			t.Errorf("%s holds %q, %v; want %q, %v", f.Name(), got, err, w, ok)
		}
	}
	if len(found) != len(want) {
		t.Errorf("%d files, want %d", len(found), len(want))
	}
}

// What stood under the name stays until Commit, also behind a link, and for good after Abandon.
func TestWholeOrNothing(t *testing.T) {
	dir := t.TempDir()
	name, alias := filepath.Join(dir, "out"), filepath.Join(t.TempDir(), "alias")
	if err := errors.Join(os.WriteFile(name, []byte("old"), 0o666), os.Symlink(name, alias)); err != nil {
		t.Fatal(err)
	}
	d := begin(t, name, "never")
	d.Abandon()
	holds(t, dir, map[string]string{"out": "old"})
	if err := d.Commit(); err != nil {
		t.Error(err)
	}
	holds(t, dir, map[string]string{"out": "old"})

	a, b := begin(t, alias, "new"), begin(t, name, "newest")
	if n, ok := a.Size(); n != 3 || !ok {
		t.Errorf("size %d, %v", n, ok)
	}
	if got, _ := os.ReadFile(name); string(got) != "old" {
		t.Errorf("before Commit: %q", got)
	}
	if err := a.Commit(); err != nil {
		t.Error(err)
	}
	a.Abandon()
	if done, err := b.Cut(2); !done || err != nil {
		t.Errorf("cut: %v, %v", done, err)
	}
	if got, _ := os.ReadFile(name); string(got) != "new" {
		t.Errorf("after the first Commit: %q", got)
	}
	if err := b.Commit(); err != nil {
		t.Error(err)
	}
	holds(t, dir, map[string]string{"out": "ne"})
	if l, err := os.Readlink(alias); err != nil || l != name {
		t.Errorf("the link is %q, %v", l, err)
	}
}

// What is no regular file is written straight, and stays.
func TestDevice(t *testing.T) {
	d := begin(t, os.DevNull, "gone")
	if _, ok := d.Size(); ok {
		t.Error("a device has no size")
	}
	if done, err := d.Cut(0); done || err != nil {
		t.Errorf("cut: %v, %v", done, err)
	}
	if err := d.Commit(); err != nil {
		t.Error(err)
	}
	if _, err := os.Stat(os.DevNull); err != nil {
		t.Error(err)
	}
}

// Errors name the file as it was asked for, never the hidden one.
func TestErrorsNameTheFile(t *testing.T) {
	name := filepath.Join(t.TempDir(), "none", "out")
	_, err := draft.New(name)
	var path *fs.PathError
	if !errors.As(err, &path) || path.Path != name || !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("got %v", err)
	}
	d := begin(t, filepath.Join(t.TempDir(), "out"), "")
	defer d.Abandon()
	if err := d.File.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := d.Write([]byte("x")); err == nil || strings.Contains(err.Error(), ".part") {
		t.Errorf("got %v", err)
	}
}
