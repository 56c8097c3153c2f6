package plots

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"linewitness/capture"
	"linewitness/decode"
	"linewitness/decode/tally"
)

// WriteReport leaves report.html, line.svg and line.png in dir, which it makes where it is missing, and two files for each of the
// Charts. The figure of the line shows the first excerpt. All files are whole or none is there: they are drawn first, written beside
// their places, and then renamed, the page last.
func WriteReport(dir string, f *decode.Finding, opt Options) (err error) {
	files, err := render(f, opt)
	if err != nil {
		return err
	}
	_, missing := os.Stat(dir)
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return err
	}
	var left []string // what to take away again should anything fail
	defer func() {
		if err == nil {
			return
		}
		for _, name := range left {
			os.Remove(name)
		}
		if os.IsNotExist(missing) {
			os.Remove(dir)
		}
	}()
	for i := range files {
		name, err := writeBeside(dir, files[i].name, files[i].content)
		if name != "" {
			left = append(left, name)
		}
		if err != nil {
			return err
		}
		files[i].at = name
	}
	for i := range files {
		place := filepath.Join(dir, files[i].name)
		if err := os.Rename(files[i].at, place); err != nil {
			return err
		}
		left = append(left, place)
	}
	return nil
}

type file struct {
	name, at string
	content  []byte
}

// writer draws one file.
type writer struct {
	name  string
	write func(io.Writer) error
}

func render(f *decode.Finding, opt Options) ([]file, error) {
	first, clock := tally.Excerpt{What: "nothing was kept of the line"}, f.Recording.Clock
	if len(f.Excerpts) > 0 {
		first = f.Excerpts[0]
	}
	if !clock.Valid() {
		clock = capture.Nanoseconds
	}
	p := Line(first, clock, lineOf(f.Link))
	writers := []writer{
		{"line.svg", func(w io.Writer) error { return WriteSVG(w, p) }},
		{"line.png", func(w io.Writer) error { return WritePNG(w, p) }},
	}
	for _, c := range Charts(f) {
		writers = append(writers, writer{c.Name + ".svg", func(w io.Writer) error { return WriteSVG(w, c.Plot) }},
			writer{c.Name + ".png", func(w io.Writer) error { return WritePNG(w, c.Plot) }})
	}
	writers = append(writers, writer{"report.html", func(w io.Writer) error { return WritePage(w, f, opt) }})
	var files []file
	for _, w := range writers {
		var b bytes.Buffer
		if err := w.write(&b); err != nil {
			return nil, fmt.Errorf("%s: %w", w.name, err)
		}
		files = append(files, file{name: w.name, content: b.Bytes()})
	}
	return files, nil
}

// writeBeside writes content to a new file in dir and returns its name, even with an error once the file is there.
func writeBeside(dir, name string, content []byte) (string, error) {
	t, err := os.CreateTemp(dir, "."+name+"-*")
	if err != nil {
		return "", err
	}
	_, err = t.Write(content)
	if err == nil {
		err = t.Chmod(0o644)
	}
	if err == nil {
		err = t.Sync()
	}
	if e := t.Close(); err == nil {
		err = e
	}
	return t.Name(), err
}
