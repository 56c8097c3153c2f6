package output

import (
	"bytes"
	"encoding/csv"
	"strconv"
	"strings"

	"linewitness/capture"
	"linewitness/decode/link"
)

// commaSeparated is RFC 4180 with a header and line feeds, as encoding/csv writes it. Name, kind and values may need quotes.
type commaSeparated struct {
	start []byte
	fields
}

func (e *commaSeparated) header(dst []byte) []byte {
	return append(append(dst, strings.Join(FramesColumns, ",")...), '\n')
}

func (e *commaSeparated) recording(name string, p *link.Profile) {
	e.fields.p = p
	e.start = appendCells(e.start[:0], name, "")
}

// appendCells appends cells, a comma between two, with quotes where they need them.
func appendCells(dst []byte, cells ...string) []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	_ = w.Write(cells) // a buffer takes everything
	w.Flush()
	return append(dst, bytes.TrimSuffix(b.Bytes(), []byte("\n"))...)
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
	if kind, values := e.text(f); kind != "" {
		return append(appendCells(append(dst, ','), kind, values), '\n')
	}
	return append(dst, ",,\n"...)
}
