package main

import (
	"fmt"
	"path/filepath"
	"strings"
)

// folders names the folder of each recording's report: the one asked for, or with several recordings one for each
// below it, named after the recording and numbered where names meet.
type folders struct {
	dir     string
	several bool
	used    map[string]bool
}

func (f *folders) next(recording string) string {
	if !f.several {
		return f.dir
	}
	base := strings.TrimSuffix(filepath.Base(recording), filepath.Ext(recording))
	if recording == "-" {
		base = "standard-input"
	}
	if base == "" || base == "." || base == ".." {
		base = "recording"
	}
	if f.used == nil {
		f.used = map[string]bool{}
	}
	name := base
	for n := 2; f.used[strings.ToLower(name)]; n++ {
		name = fmt.Sprintf("%s-%d", base, n)
	}
	f.used[strings.ToLower(name)] = true
	return filepath.Join(f.dir, name)
}
