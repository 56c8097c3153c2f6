package record

import (
	"encoding/json"
	"fmt"
	"math"
	"time"

	"linewitness/capture"
)

// Meta is what a head record keeps of capture.Info: everything that outlives the source.
type Meta struct {
	Name      string        // of the recording, as its source gave it
	Format    string        // it came from: "vcd", "uart-port", ...
	Clock     capture.Clock //
	Tap       capture.Tap   //
	Start     time.Time     // wall time of the axis' zero; zero time: not known
	Levels    bool          // levels records come
	Volts     bool          // volts records come
	FullScale float64       // volts (amperes) at which the recorder clips; 0: not known
	Relative  bool          // volts are fractions of full scale
	Part      int           // which file of the recording, from 0
	Since     capture.Tick  // this file's zero, in ticks since that of the first file
}

// MetaOf is the part of info that a head record keeps.
func MetaOf(info *capture.Info) Meta {
	return Meta{
		Name: info.Name, Format: info.Format, Clock: info.Clock, Tap: info.Tap, Start: info.Start,
		Levels: info.Levels, Volts: info.Volts, FullScale: info.FullScale, Relative: info.Relative,
	}
}

// metaJSON is the body of a head record. Keys that are not known are passed over.
type metaJSON struct {
	Name      string     `json:"name,omitempty"`
	Format    string     `json:"format,omitempty"`
	ClockNum  int64      `json:"clock_num"` // ticks in clock_den seconds
	ClockDen  int64      `json:"clock_den"`
	Tap       string     `json:"tap,omitempty"`
	Start     *time.Time `json:"start,omitempty"` // RFC 3339
	Levels    bool       `json:"levels"`
	Volts     bool       `json:"volts"`
	FullScale float64    `json:"full_scale_v,omitempty"`
	Relative  bool       `json:"relative,omitempty"`
	Part      int        `json:"part,omitempty"`
	Since     int64      `json:"since,omitempty"` // ticks
}

// AppendHead appends a head record. Texts are cut so that the body stays below MaxText; a wall time outside of the
// years 0 to 9999 and a full scale that is no number are left out as not known.
func AppendHead(dst []byte, seq uint64, m *Meta) []byte {
	j := metaJSON{
		Name: cutText(m.Name, MaxText/16), Format: cutText(m.Format, MaxText/16), ClockNum: m.Clock.Num, ClockDen: m.Clock.Den,
		Levels: m.Levels, Volts: m.Volts, FullScale: m.FullScale, Relative: m.Relative, Part: m.Part, Since: int64(m.Since),
	}
	if m.Tap != capture.TapUnknown {
		j.Tap = m.Tap.String()
	}
	if start := m.Start; !start.IsZero() && start.UTC().Year() >= 1 && start.UTC().Year() < 9999 {
		start = start.UTC()
		j.Start = &start
	}
	if math.IsNaN(j.FullScale) || math.IsInf(j.FullScale, 0) {
		j.FullScale = 0
	}
	body, err := json.Marshal(&j)
	if err != nil {
		panic(fmt.Sprintf("record: head: %v", err)) // all that json refuses is excluded above
	}
	from := len(dst)
	dst = append(open(dst), body...)
	seal(dst[from:], &Header{Kind: Head, Seq: seq})
	return dst
}

// DecodeHead reads the body of a head record. A tap that is not known is no error: the recording is still good.
func DecodeHead(body []byte) (*Meta, error) {
	if len(body) > MaxText {
		return nil, broken(fmt.Sprintf("at most %d bytes of head", MaxText), len(body))
	}
	var j metaJSON
	if err := json.Unmarshal(body, &j); err != nil {
		return nil, fmt.Errorf("%w: head: %w", ErrContent, err)
	}
	m := &Meta{
		Name: j.Name, Format: j.Format, Clock: capture.Clock{Num: j.ClockNum, Den: j.ClockDen},
		Levels: j.Levels, Volts: j.Volts, FullScale: j.FullScale, Relative: j.Relative, Part: j.Part, Since: capture.Tick(j.Since),
	}
	if !m.Clock.Valid() {
		return nil, broken("a clock above 0", m.Clock)
	}
	if tap, err := capture.ParseTap(j.Tap); err == nil {
		m.Tap = tap
	}
	if j.Start != nil {
		m.Start = j.Start.UTC()
	}
	return m, nil
}
