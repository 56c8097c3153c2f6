package output

import (
	"bytes"
	"encoding/csv"
	"strconv"
	"strings"

	"linewitness/capture"
	"linewitness/decode/link"
)

// commaSeparated is RFC 4180 with a header and line feeds, as encoding/csv writes it. Only the name can need quotes.
type commaSeparated struct{ start []byte }

func (e *commaSeparated) header(dst []byte) []byte {
	return append(append(dst, strings.Join(FramesColumns, ",")...), '\n')
}

func (e *commaSeparated) recording(name string) {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	_ = w.Write([]string{name, ""}) // a buffer takes everything
	w.Flush()
	e.start = append(e.start[:0], bytes.TrimSuffix(b.Bytes(), []byte("\n"))...)
}

func (e *commaSeparated) frame(dst []byte, f *link.Frame, clock capture.Clock, wide bool) []byte {
	dst = append(dst, e.start...)
	dst = appendSeconds(dst, f.At, clock)
	dst = append(dst, ',')
	dst = appendSeconds(dst, f.End, clock)
	dst = append(dst, ',')
	dst = append(dst, frameSide(f.Side)...)
	dst = append(dst, ',')
	dst = appendHex(dst, f.Values, wide)
	dst = append(dst, ',')
	dst = strconv.AppendBool(dst, f.OK())
	dst = append(dst, ',')
	dst = appendWhy(dst, f, "", "+", "")
	return append(dst, '\n')
}
