package decode_test

import (
	"testing"
	"time"
)

func TestTmpLoop(t *testing.T) {
	for n, c := range map[string]loopCircuit{"plain": {speed: 2400, talk: dialogue(4)}, "c": {speed: 1200, talk: dialogue(4), cable: 100e-9}, "photo": {speed: 2400, talk: dialogue(4), phototransistor: true, cable: 10e-9}, "neg": {speed: 9600, talk: dialogue(8), supply: -24},
		"hum": {speed: 2400, talk: dialogue(4), neutral: 3}, "held": {speed: 2400, talk: heldOpen}} {
		start := time.Now()
		w := runLoop(t, c)
		d := time.Since(start)
		worst := 0.0
		first := w.crossings(t)
		for _, x := range first {
			worst = max(worst, w.resolution(x.at))
		}
		lat := 0.0
		for i, x := range first {
			lat = max(lat, x.at-w.states[i+1].from)
		}
		t.Log(n, d, len(w.at), w.at[len(w.at)-1], len(w.states), w.levels(), w.mains(), "res us", worst*1e6, "lat us", lat*1e6)
	}
}
