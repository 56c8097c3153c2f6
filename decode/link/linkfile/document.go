package linkfile

// The document's shape. Tags: json is the key; jsonschema holds limits and defaults, in the names of JSON Schema
// (required: the key must stand there); jsonschema_description is for people; file:"hex" writes a number as 0x...,
// file:"milli" makes seconds of milliseconds (package strict).

type document struct {
	Schema   string       `json:"schema" jsonschema:"required,enum=linewitness/profile/1" jsonschema_description:"Format of this file."`
	Name     text         `json:"name" jsonschema:"required" jsonschema_description:"What the link is called."`
	Invented bool         `json:"invented" jsonschema_description:"True: no real link, made up for practice or tests."`
	Note     prose        `json:"note" jsonschema_description:"What the author says of it."`
	Kind     string       `json:"kind" jsonschema:"required,enum=loop3,enum=pair,enum=logic" jsonschema_description:"loop3: conductors L, N and S, a current loop returned through N. pair: two signal conductors. logic: a pin of one board."`
	Supply   *supplyPart  `json:"supply" jsonschema_description:"Supply of the loop."`
	Line     linePart     `json:"line" jsonschema:"required" jsonschema_description:"The start-stop line."`
	Roles    rolesPart    `json:"roles" jsonschema_description:"Who polls and who answers."`
	Address  *addressPart `json:"address" jsonschema_description:"The octet of a frame that names a unit. Absent: frames carry none."`
	Framing  framingPart  `json:"framing" jsonschema_description:"How characters become frames."`
	Checksum *sumPart     `json:"checksum" jsonschema_description:"What guards a frame. Absent: not known."`
	Timing   timingPart   `json:"timing" jsonschema_description:"Timing of the dialogue. What is absent is not known."`
	Frames   []framePart  `json:"frames" jsonschema:"maxItems=256" jsonschema_description:"Kinds of frames. Places count octets with the coding taken off, marks included, from the frame's start; negative ones from its end (-1: the last octet)."`
}

type supplyPart struct {
	From      string  `json:"from" jsonschema:"enum=unknown,enum=indoor,enum=outdoor,enum=a,enum=b,default=unknown" jsonschema_description:"The unit that makes the supply."`
	Volts     float64 `json:"volts" jsonschema:"minimum=-1000,maximum=1000,default=0" jsonschema_description:"Voltage of S towards the reference with the loop open, signed, in volts. 0: not known."`
	Waveform  string  `json:"waveform" jsonschema:"enum=dc,enum=half-wave,default=dc" jsonschema_description:"half-wave: rectified and not smoothed."`
	Reference string  `json:"reference" jsonschema:"enum=,enum=N,enum=L,enum=S,default=" jsonschema_description:"The conductor that the loop returns through. Empty: not known."`
}

type linePart struct {
	Speed    float64 `json:"speed_bd" jsonschema:"required,minimum=1,maximum=10000000" jsonschema_description:"Nominal speed in Bd."`
	Format   format  `json:"format" jsonschema:"required" jsonschema_description:"Data bits 5 to 9, parity N E O M S, stop bits 1, 1.5 or 2: 8E1."`
	Inverted bool    `json:"inverted" jsonschema_description:"False: high, or current, is mark (the state at rest)."`
}

type rolesPart struct {
	Controller string `json:"controller" jsonschema:"enum=unknown,enum=indoor,enum=outdoor,enum=a,enum=b,default=unknown" jsonschema_description:"The side that polls."`
	Responder  string `json:"responder" jsonschema:"enum=unknown,enum=indoor,enum=outdoor,enum=a,enum=b,default=unknown" jsonschema_description:"The side that answers."`
}

type addressPart struct {
	At    int        `json:"at" jsonschema:"required,minimum=-4096,maximum=4095" jsonschema_description:"Place of the octet in every frame."`
	Units []unitPart `json:"units" jsonschema:"maxItems=256" jsonschema_description:"Units by their address."`
}

type unitPart struct {
	Value int    `json:"value" jsonschema:"required,minimum=0,maximum=255" file:"hex" jsonschema_description:"The address."`
	Name  text   `json:"name" jsonschema:"required" jsonschema_description:"What the unit is called."`
	Side  string `json:"side" jsonschema:"enum=unknown,enum=indoor,enum=outdoor,enum=a,enum=b,default=unknown" jsonschema_description:"The side a frame with this address comes from."`
}

type framingPart struct {
	Fixed    int         `json:"fixed" jsonschema:"minimum=1,maximum=4096" jsonschema_description:"Every frame has this many characters."`
	Length   *lengthPart `json:"length" jsonschema_description:"A character that says how long the frame is."`
	Start    hexText     `json:"start" jsonschema_description:"Characters that every frame starts with, as they stand on the line."`
	End      hexText     `json:"end" jsonschema_description:"Characters that end a frame, as they stand on the line."`
	AfterEnd int         `json:"after_end" jsonschema:"minimum=0,maximum=255,default=0" jsonschema_description:"Characters behind the end mark that still belong to the frame, such as its checksum."`
	Break    bool        `json:"break" jsonschema_description:"A frame begins with a break; it counts as a character of value 0."`
	GapMS    *float64    `json:"gap_ms" jsonschema:"minimum=0,maximum=60000" file:"milli" jsonschema_description:"Silence that ends a frame, in ms. 0: not known. Absent, as is gap_characters: 3.5 characters."`
	GapChars float64     `json:"gap_characters" jsonschema:"minimum=0.1,maximum=1000" jsonschema_description:"Silence that ends a frame, in lengths of a character with its stop element. Default 3.5."`
	InsideMS float64     `json:"inside_ms" jsonschema:"minimum=0,maximum=60000,default=0" file:"milli" jsonschema_description:"Longest silence allowed inside a frame, in ms. 0: no rule."`
	InChars  float64     `json:"inside_characters" jsonschema:"minimum=0.1,maximum=1000" jsonschema_description:"Longest silence allowed inside a frame, in lengths of a character with its stop element."`
	Coding   string      `json:"coding" jsonschema:"enum=plain,enum=escape,enum=hex,default=plain" jsonschema_description:"How octets stand between the marks. escape: see there. hex: as two hexadecimal digits each."`
	Escape   *escapePart `json:"escape" jsonschema_description:"With coding escape: what stands before an octet that may not stand as it is."`
	Modbus   bool        `json:"modbus" jsonschema_description:"Frames have the request and reply shapes of the Modbus application protocol, which then tell how long they are."`
}

type lengthPart struct {
	At     int    `json:"at" jsonschema:"required,minimum=0,maximum=255" jsonschema_description:"Its place, counted from the frame's start."`
	Counts string `json:"counts" jsonschema:"enum=all,enum=rest,enum=payload,default=all" jsonschema_description:"all: the whole frame. rest: what follows it. payload: what stands between it and the checksum."`
	Add    int    `json:"add" jsonschema:"minimum=-255,maximum=255,default=0" jsonschema_description:"What must be added to its value besides."`
}

type escapePart struct {
	Mark int `json:"mark" jsonschema:"required,minimum=0,maximum=255" file:"hex" jsonschema_description:"The character that stands before."`
	Xor  int `json:"xor" jsonschema:"minimum=0,maximum=255,default=0" file:"hex" jsonschema_description:"The octet follows exclusive or this."`
}

type sumPart struct {
	Rule   text   `json:"rule" jsonschema:"required" jsonschema_description:"none, unknown, a sum such as sum8 or xor8 (with init=0x55 where it starts so), or crc16 poly=0x8005 init=0xFFFF refin=true refout=true xorout=0x0000 (crc8 likewise)."`
	Covers []int  `json:"covers" jsonschema:"minItems=2,maxItems=2,minimum=-4096,maximum=4095" jsonschema_description:"Octets [from, to) that the sum covers; negative ones count from the frame's end, 0 as the second is the end. Default: from the start to the sum."`
	At     int    `json:"at" jsonschema:"minimum=-4096,maximum=4095" jsonschema_description:"Place of the sum's first octet. Default: the last octets."`
	Order  string `json:"order" jsonschema:"enum=big,enum=little,default=big" jsonschema_description:"big: the high octet of a sum of two first."`
}

type timingPart struct {
	PollPeriod float64   `json:"poll_period_ms" jsonschema:"minimum=0,maximum=86400000,default=0" file:"milli" jsonschema_description:"From poll to poll, in ms."`
	Turnaround []float64 `json:"turnaround_ms" jsonschema:"minItems=2,maxItems=2,minimum=0,maximum=86400000" file:"milli" jsonschema_description:"From the end of a poll to its reply, shortest and longest, in ms."`
	Retries    int       `json:"retries" jsonschema:"minimum=0,maximum=1000,default=0" jsonschema_description:"Polls sent again after no good reply."`
	RetryAfter float64   `json:"retry_after_ms" jsonschema:"minimum=0,maximum=86400000,default=0" file:"milli" jsonschema_description:"From a poll's end to its repetition, in ms."`
	SlowPeriod float64   `json:"slow_period_ms" jsonschema:"minimum=0,maximum=86400000,default=0" file:"milli" jsonschema_description:"Poll period after too many misses, and while units sleep, in ms."`
	SlowAfter  float64   `json:"slow_after_s" jsonschema:"minimum=0,maximum=86400,default=0" jsonschema_description:"Silence of the other side after which polls come slowly, in s."`
	FaultAfter float64   `json:"fault_after_s" jsonschema:"minimum=0,maximum=86400,default=0" jsonschema_description:"Silence of the other side after which a unit shows a communication fault, in s."`
	TwoTalkers bool      `json:"two_talkers" jsonschema_description:"Polls are answered: silence after a poll is a missing reply."`
}
