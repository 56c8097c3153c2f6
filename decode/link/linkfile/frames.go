package linkfile

type framePart struct {
	Name       text        `json:"name" jsonschema:"required" jsonschema_description:"What frames of this kind are called; no two kinds share it."`
	From       string      `json:"from" jsonschema:"enum=unknown,enum=indoor,enum=outdoor,enum=a,enum=b,default=unknown" jsonschema_description:"The side that sends them. unknown: either."`
	Match      []matchPart `json:"match" jsonschema:"maxItems=256" jsonschema_description:"Octets by which a frame of this kind is known."`
	Length     int         `json:"length" jsonschema:"minimum=1,maximum=4096" jsonschema_description:"Octets of the frame. Absent: any."`
	AnsweredBy []text      `json:"answered_by" jsonschema:"maxItems=256" jsonschema_description:"Names of the kinds that may answer it. Absent: it asks nothing."`
	AfterStart bool        `json:"after_start" jsonschema_description:"Sent only after a unit has started."`
	Template   hexText     `json:"template" jsonschema_description:"Octets that composing begins with; what is missing up to the length is 0."`
	Fields     []fieldPart `json:"fields" jsonschema:"maxItems=1024" jsonschema_description:"Numbers in the frame."`
}

type matchPart struct {
	At   int `json:"at" jsonschema:"required,minimum=-4096,maximum=4095" jsonschema_description:"Place of the octet."`
	Is   int `json:"is" jsonschema:"required,minimum=0,maximum=255" file:"hex" jsonschema_description:"What the octet AND mask must be."`
	Mask int `json:"mask" jsonschema:"minimum=1,maximum=255,default=255" file:"hex" jsonschema_description:"Bits that count."`
}

type fieldPart struct {
	Name       text            `json:"name" jsonschema:"required" jsonschema_description:"What the number is called; no two of a frame share it."`
	At         int             `json:"at" jsonschema:"required,minimum=-4096,maximum=4095" jsonschema_description:"Place of its first octet."`
	Octets     int             `json:"octets" jsonschema:"minimum=1,maximum=8,default=1" jsonschema_description:"How many octets it is read from."`
	Order      string          `json:"order" jsonschema:"enum=big,enum=little,default=big" jsonschema_description:"big: the high octet first."`
	Bit        int             `json:"bit" jsonschema:"minimum=0,maximum=63,default=0" jsonschema_description:"Its lowest bit in these octets; 0 is the lowest."`
	Bits       int             `json:"bits" jsonschema:"minimum=1,maximum=64" jsonschema_description:"How many bits it has. Default: all from bit on."`
	Signed     bool            `json:"signed" jsonschema_description:"Two's complement."`
	Scale      float64         `json:"scale" jsonschema:"minimum=-1e30,maximum=1e30,default=1" jsonschema_description:"value = number x scale + offset. Not 0."`
	Offset     float64         `json:"offset" jsonschema:"minimum=-1e30,maximum=1e30,default=0" jsonschema_description:"See scale."`
	Unit       label           `json:"unit" jsonschema_description:"Unit of the value; degC for a thermistor."`
	Names      names           `json:"names" jsonschema_description:"Names of single numbers."`
	Flags      names           `json:"flags" jsonschema_description:"Names of single bits, 0 the field's lowest. Instead of names."`
	Thermistor *thermistorPart `json:"thermistor" jsonschema_description:"The number is a divider's voltage; the value is a temperature."`
	Counter    bool            `json:"counter" jsonschema_description:"Goes up by one a frame, from 0 at the unit's start."`
}

type thermistorPart struct {
	R25      float64 `json:"r25" jsonschema:"minimum=0.001,maximum=1e12" jsonschema_description:"Resistance at 25 degC in ohm; with beta: R = r25 exp(beta (1/T - 1/298.15 K))."`
	Beta     float64 `json:"beta" jsonschema:"minimum=1,maximum=100000" jsonschema_description:"Beta in K."`
	Points   []point `json:"points" jsonschema:"minItems=2,maxItems=1024" jsonschema_description:"Table of [degC, ohm], rising in temperature, instead of r25 and beta; joined straight in ln R over 1/T."`
	Pull     float64 `json:"pull" jsonschema:"required,minimum=0.001,maximum=1e12" jsonschema_description:"The divider's fixed resistor in ohm, from the thermistor to the supply."`
	Full     float64 `json:"full" jsonschema:"required,minimum=0.001,maximum=1e18" jsonschema_description:"Number at the divider's full supply."`
	PullDown bool    `json:"pull_down" jsonschema_description:"The number is the voltage across the fixed resistor, which is then the lower one."`
}
