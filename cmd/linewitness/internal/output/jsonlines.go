package output

import (
	"strconv"

	"linewitness/capture"
	"linewitness/decode/link"
)

// jsonLines is a JSON object a line.
type jsonLines struct {
	start []byte // {"name":"rec.vcd","t_s":
	fields
}

func (e *jsonLines) header(dst []byte) []byte { return dst }

func (e *jsonLines) recording(name string, p *link.Profile) {
	e.fields.p = p
	e.start = append(e.start[:0], `{"name":`...)
	e.start = append(e.start, quoteJSON(name)...)
	e.start = append(e.start, `,"t_s":`...)
}

func (e *jsonLines) frame(dst []byte, f *link.Frame, clock capture.Clock, wide bool) []byte {
	dst = append(dst, e.start...)
	dst = appendSeconds(dst, f.At, clock)
	dst = append(dst, `,"end_s":`...)
	dst = appendSeconds(dst, f.End, clock)
	dst = append(dst, `,"side":"`...)
	dst = append(dst, frameSide(f.Side)...)
	dst = append(dst, `","hex":"`...)
	dst = appendHex(dst, f.Values, wide)
	dst = append(dst, `","ok":`...)
	dst = strconv.AppendBool(dst, f.OK())
	dst = append(dst, `,"why":[`...)
	dst = appendWhy(dst, f, `"`, ",", `"`)
	dst = e.appendJSON(append(dst, ']'), f)
	return append(dst, "}\n"...)
}
