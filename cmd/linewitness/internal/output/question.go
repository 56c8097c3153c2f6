package output

import (
	"fmt"
	"io"
	"strings"

	"linewitness/decode/check"
)

// WriteQuestion asks for a check: what it takes, the caution before all, what to do, and how to answer.
func WriteQuestion(w io.Writer, number int, c *check.Check) error {
	b := fmt.Appendf(nil, "\nQuestion %d", number)
	if c.Minutes > 0 {
		b = fmt.Appendf(b, " (%s)", strings.ReplaceAll(effort(c.Live, c.Minutes), string(tied), " "))
	}
	b = append(b, ":\n"...)
	if c.Caution != "" {
		b = appendWrapped(b, indent+"CAUTION: ", indent, c.Caution)
	}
	b = appendWrapped(b, indent, indent, c.Do)
	b = appendWrapped(b, indent+"answer: ", indent+indent, strings.ReplaceAll(c.Values, "|", ", "))
	_, err := w.Write(b)
	return err
}

// WriteWhy answers a person who asks why, or whose answer could not be read.
func WriteWhy(w io.Writer, text string) error {
	_, err := w.Write(appendWrapped(nil, indent, indent, text))
	return err
}
