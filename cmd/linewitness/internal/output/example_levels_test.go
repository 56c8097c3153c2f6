package output

import (
	"linewitness/capture"
	"linewitness/decode"
	"linewitness/decode/validate"
	"linewitness/decode/verdict"
)

// dipping is Birchmere's room 7: the Heron loop's supply dips. Invented like the rest.
func dipping() *decode.Finding {
	f := sound()
	f.Recording.Name, f.Recording.Tap, f.Recording.Samples = "heron-room-7.wav", capture.IndoorTerminal, 240_000
	f.Volts = &verdict.Volts{Loop: true, Levels: 3, Low: 0.1, Mid: 11.9, High: 24, Noise: 0.08, NoiseOf: [4]float64{nan, 0.08, 0.09, 0.08},
		SamplesABit: 16.7, Constant: nan, Effective: nan, DipTo: 0.41, Judged: 0.97, PlaceMove: 0.002, HighMove: -0.01, PlaceErr: 0.001,
		DipSpans: []verdict.Span{{From: 1_500_000_000, To: 1_580_000_000, Residual: 0.41}, {From: 6e9, To: 6_120_000_000, Residual: 0.6}},
		Dips:     validate.Times{N: 2, At: []capture.Tick{1_500_000_000, 6e9}},
		Hz:       49.98, HzErr: 0.002, Hum: [4]float64{nan, 0, 0.2, 0.4}, Ripple: [4]float64{nan, 0, 0.05, 0.1}, Rectifier: validate.FullWave,
		BeyondMost: nan, TauBits: 0.03, Feed: capture.Outdoor, FeedAssumed: true,
		Edges: []validate.EdgeShape{{From: capture.Mid, To: capture.High, Seen: 900, N: 800, Tau50: 25e-6}}}
	return f
}

// alone is Birchmere's room 9: mains where the signal should be.
func alone() *decode.Finding {
	f := nothing()
	f.Recording.Name, f.Recording.Samples = "heron-room-9.wav", 36_000
	f.Volts = &verdict.Volts{OnlyMains: true, Low: nan, Mid: nan, High: nan, Noise: nan, NoiseOf: [4]float64{nan, nan, nan, nan}, SamplesABit: nan,
		Constant: nan, Effective: 230.4, Peak: 326, DipTo: nan, PlaceMove: nan, HighMove: nan, Hz: 49.97, HzErr: 0.01,
		Hum: [4]float64{nan, nan, 325.8, nan}, Ripple: [4]float64{nan, nan, 2.1, nan}, BeyondMost: nan, TauBits: nan}
	return f
}
