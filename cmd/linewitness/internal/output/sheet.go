package output

import (
	"fmt"
	"io"
	"strings"

	"linewitness/decode"
	"linewitness/decode/check"
)

// WriteSheet writes f as one page for the customer's file: the answer, what to do, what was read by hand, what need not be replaced, and
// what is still open.
func WriteSheet(w io.Writer, f *decode.Finding, readings []check.Reading) error {
	b := []byte("SIGNAL LINE SHEET\n\n")
	b = append(b, "Site: ______________________  Unit: ____________________  Date: ______________\n\n"...)
	if f.Basis != nil && f.Basis.Bare {
		b = appendWrapped(b, "Recording: ", indent, "none")
	} else {
		b = appendWrapped(b, "Recording: ", indent, recordingLine(&f.Recording))
	}
	b = appendWrapped(b, "Answer: ", indent, verdictLine(f))
	b = appendActions(b, f.Actions)
	b = appendRead(b, readings)
	b = appendSheetEvidence(b, f)
	if len(f.Cleared) > 0 {
		b = append(b, "\nCleared, do not replace:\n"...)
		for _, c := range f.Cleared {
			b = appendWrapped(b, indent+"- ", indent+indent, c.What+": "+c.Because)
		}
	}
	b = appendNext(b, f)
	b = append(b, "\nDone: ____________________________________________  Signed: ____________________\n"...)
	_, err := w.Write(b)
	return err
}

const (
	sheetActions  = 3
	leastAction   = 0.05
	sheetEvidence = 4
)

func appendActions(b []byte, all []check.Share) []byte {
	b = append(b, "\nWhat to do:\n"...)
	for i, a := range all {
		if i == sheetActions || i > 0 && a.Probability < leastAction {
			break
		}
		b = appendWrapped(b, fmt.Sprintf("%s%8s  ", indent, strings.ReplaceAll(percent(a.Probability), string(tied), " ")), strings.Repeat(" ", 12), string(a.Action))
	}
	return b
}

func appendRead(b []byte, readings []check.Reading) []byte {
	if len(readings) == 0 {
		return b
	}
	b = append(b, "\nRead by hand:\n"...)
	for _, r := range readings {
		b = appendWrapped(b, indent+"- ", indent+indent, r.String())
	}
	return b
}

// appendSheetEvidence says why, without the readings, which stand above.
func appendSheetEvidence(b []byte, f *decode.Finding) []byte {
	n := 0
	for i := range f.Evidence {
		e := &f.Evidence[i]
		if strings.HasPrefix(e.ID, "reading-") || n == sheetEvidence {
			continue
		}
		if n == 0 {
			b = append(b, "\nBecause:\n"...)
		}
		n++
		b = appendWrapped(b, indent+"- ", indent+indent, e.Says+instants(e.At, f.Recording.Clock))
	}
	return b
}
