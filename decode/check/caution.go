package check

// The parts of which cautions are made. Their rules are common practice of the trade, no source, but for the
// measurement category of a meter (IEC 61010-1 and IEC 61010-2-033).
const (
	isolate = "Isolate and lock off, prove dead, wait some minutes for the capacitors to discharge, and only then connect. "
	anyLive = "Any of L, N and S can be live, and an open N lifts the outdoor unit's N to live. "
	earth   = "Keep the protective earth connected. Fans and compressors start without warning. "
	codes   = "Local codes come first; leave the work to those licensed for it."

	probe     = "Join the line to a computer, an earthed instrument or a sound input only through reinforced isolation of CAT III, 600 V (IEC 61010). "
	qualified = "Live work, only for those qualified for it: insulated meter and leads of CAT III, 600 V; one hand; no bare metal in reach. " +
		"Lift or connect conductors only with the supply isolated, locked off, proved dead and the capacitors discharged. "
	miswire = "After a mis-wire boards may be damaged: check again once it is put right. "
	hotN    = "A hot or loose N joint is a fire hazard: do not leave it in service. "

	atTerminals = isolate + anyLive + earth + codes
	atMeter     = qualified + anyLive + earth + codes
	atProbe     = isolate + anyLive + probe + earth + codes
)

// Caution is what somebody must know before a hand or a probe goes to that tap, by the tap's name in a recording. An
// unknown tap gets the caution for all of them.
func Caution(tap string) string {
	const (
		board = "A board's logic ground may stand at mains or DC-bus potential, whatever the signal's own voltage is. "
		pair  = "The pair shares its terminal block with mains conductors, and some pairs carry a supply of their own. "
		loop  = "A current probe goes around one insulated conductor, or into the loop with the supply isolated; an opened loop can show its full supply voltage, 140 V or more, or mains. "
	)
	switch tap {
	case "indoor-terminal", "outdoor-terminal":
		return atProbe
	case "loop-current":
		return loop + atProbe
	case "board-pin":
		return board + atProbe
	case "pair":
		return pair + atProbe
	}
	return board + pair + atProbe
}
