package main

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
)

const readmeCommand = "go run ./cmd/linewitness examine"

// firstCommand finds the README's first examine command: the first line of a
// fenced block that starts with readmeCommand, a prompt in front left out and
// lines that end in a backslash joined.
func firstCommand(readme string) (string, bool) {
	fence := ""
	lines := strings.Split(readme, "\n")
	for i := 0; i < len(lines); i++ {
		line := strings.TrimSpace(lines[i])
		if fence != "" && strings.HasPrefix(line, fence) {
			fence = ""
			continue
		}
		if fence == "" {
			for _, mark := range []string{"```", "~~~"} {
				if strings.HasPrefix(line, mark) {
					fence = mark
				}
			}
			continue
		}
		line = strings.TrimPrefix(line, "$ ")
		if line != readmeCommand && !strings.HasPrefix(line, readmeCommand+" ") {
			continue
		}
		for strings.HasSuffix(line, `\`) && i+1 < len(lines) {
			i++
			line = strings.TrimSuffix(line, `\`) + strings.TrimSpace(lines[i])
		}
		return line, true
	}
	return "", false
}

// readmeStage runs the first thing that a newcomer pastes.
func readmeStage(ctx context.Context, j *job) error {
	text, err := os.ReadFile(filepath.Join(j.root, "README.md"))
	if err != nil {
		return err
	}
	line, ok := firstCommand(string(text))
	if !ok {
		return errors.New("README.md: no fenced line starts with " + readmeCommand)
	}
	j.printf("$ %s", line)
	var out, errOut bytes.Buffer
	if err := j.stream(ctx, &out, &errOut, "sh", "-c", line); err != nil {
		j.show(out.Bytes())
		j.show(errOut.Bytes())
		return err
	}
	if len(bytes.TrimSpace(out.Bytes())) == 0 {
		j.show(errOut.Bytes())
		return errors.New("README.md: its first command prints nothing to standard output")
	}
	j.printf("%d lines of answer", bytes.Count(bytes.TrimSpace(out.Bytes()), []byte("\n"))+1)
	return nil
}
