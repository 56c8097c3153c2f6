package output

import (
	"fmt"
	"io"
	"strings"

	"linewitness/decode/check"
)

type checkJSON struct {
	ID        string   `json:"id"`
	Do        string   `json:"do"`
	Caution   string   `json:"caution"`
	Live      bool     `json:"live"`
	Minutes   number   `json:"minutes"`
	Separates []string `json:"separates"`
	Gain      number   `json:"expected_gain_bits"`
}

func newCheck(c *check.Ranked) checkJSON {
	return checkJSON{
		ID: c.ID, Do: c.Do, Caution: c.Caution, Live: c.Live, Minutes: number(c.Minutes),
		Separates: append([]string{}, c.Separates...), Gain: number(c.Gain),
	}
}

// WriteChecks lists checks by their ids: what to do, the values a reading may have, and below them each caution with
// the checks it belongs to.
func WriteChecks(w io.Writer, all []check.Check) error {
	var b []byte
	var cautions []string
	ids := map[string][]string{} // by caution
	for i := range all {
		c := &all[i]
		b = fmt.Appendf(b, "%s\n", c.ID)
		b = appendWrapped(b, indent, indent, c.Do)
		values := c.Values
		if values == "" {
			values = "a recording, to be examined"
		}
		b = appendWrapped(b, indent+"value: ", indent+indent, values)
		if c.Minutes > 0 {
			b = appendWrapped(b, indent, indent, effort(c.Live, c.Minutes))
		}
		if c.Caution == "" {
			continue
		}
		if ids[c.Caution] == nil {
			cautions = append(cautions, c.Caution)
		}
		ids[c.Caution] = append(ids[c.Caution], c.ID)
	}
	for _, caution := range cautions {
		b = append(b, '\n')
		b = appendWrapped(b, "CAUTION at ", indent, strings.Join(ids[caution], " ")+":")
		b = appendWrapped(b, indent, indent, caution)
	}
	_, err := w.Write(b)
	return err
}

// effort is what a check takes.
func effort(live bool, minutes float64) string {
	how := "no live work"
	if live {
		how = "LIVE work"
	}
	return fmt.Sprintf("%s, about %s%cmin", how, trimmed(minutes, 0), tied)
}
