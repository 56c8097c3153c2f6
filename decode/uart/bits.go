package uart

import "math/bits"

func onesCount(v uint16) int { return bits.OnesCount16(v) }
