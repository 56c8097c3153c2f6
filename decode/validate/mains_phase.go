package validate

import "linewitness/capture"

// mainsAt is the state after a window. fresh: nothing connects it with the window before.
type mainsAt struct {
	mainsState
	fresh bool
}

// Phase is the phase of the mains at an instant, in cycles since the tracking began; ok is false before that, where the
// phase was lost, and further back than the last 64 windows (25 s of what was followed). After the last window it is
// extrapolated while it stays good to 0.12 cycles: some seconds.
func (m *Mains) Phase(t capture.Tick) (cycles float64, ok bool) {
	at := float64(t-m.origin) * m.second
	n := min(m.nRecent, mainsRecent)
	for i := m.nRecent - 1; i >= m.nRecent-n; i-- {
		s := m.recent[i%mainsRecent]
		if at < s.at {
			// Before the first window of a stretch only half a window can be said.
			if s.fresh && s.at-at <= float64(m.window)*m.second/2+1e-9 {
				return s.phase + s.hz*(at-s.at), true
			}
			continue
		}
		if i < m.nRecent-1 {
			if next := m.recent[(i+1)%mainsRecent]; !next.fresh {
				return s.phase + (next.phase-s.phase)*(at-s.at)/(next.at-s.at), true
			}
		}
		s.predict(at)
		return s.phase, s.pp <= mainsLost*mainsLost
	}
	return 0, false
}
