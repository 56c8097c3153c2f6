package main

import (
	"bufio"
	"fmt"
	"io"
	"strconv"
	"strings"
)

// totalCoverage counts statements in a cover profile. Its lines read
// "file.go:1.2,3.4 statements count"; a block may stand in it twice.
func totalCoverage(r io.Reader) (covered, total int, err error) {
	type block struct {
		statements int
		hit        bool
	}
	blocks := make(map[string]block)
	sc := bufio.NewScanner(r)
	for n := 1; sc.Scan(); n++ {
		if strings.HasPrefix(sc.Text(), "mode:") {
			continue
		}
		fields := strings.Fields(sc.Text())
		if len(fields) != 3 {
			return 0, 0, fmt.Errorf("cover profile:%d: expected three fields, found %q", n, sc.Text())
		}
		statements, err := strconv.Atoi(fields[1])
		if err != nil {
			return 0, 0, fmt.Errorf("cover profile:%d: %w", n, err)
		}
		b := blocks[fields[0]]
		blocks[fields[0]] = block{statements, b.hit || fields[2] != "0"}
	}
	for _, b := range blocks {
		total += b.statements
		if b.hit {
			covered += b.statements
		}
	}
	return covered, total, sc.Err()
}
