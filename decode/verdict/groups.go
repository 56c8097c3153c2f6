package verdict

import "strings"

// Group is a physical group of evidence: what one group says hangs together, so each group has one weight.
type Group uint8

// The groups: what was lost and in which order; who is silent, and what stands on the line instead; how the units answer each other;
// the levels; what follows the mains; edges, bias and clocks; spikes and short pulses; what the recorder and the link's description add.
const (
	GroupLosses Group = iota
	GroupSilence
	GroupDialogue
	GroupLevels
	GroupMains
	GroupEdges
	GroupNoise
	GroupRecord
	Groups int = iota
)

var groupNames = [Groups]string{"losses", "silence", "dialogue", "levels", "mains", "edges", "noise", "record"}

func (g Group) String() string { return groupNames[g] }

// groupOf is the group of every evidence that moves a probability, by the beginning of its id.
var groupOf = []struct {
	prefix string
	group  Group
}{
	{"losses", GroupLosses}, {"swapped", GroupLosses},
	{"talks", GroupSilence}, {"silences", GroupSilence}, {"held", GroupSilence}, {"loop-closed", GroupSilence}, {"levels-dropped", GroupRecord},
	{"levels-shift", GroupLevels}, {"levels", GroupSilence},
	{"supply", GroupLevels}, {"dips", GroupLevels}, {"no-dips", GroupLevels}, {"mark", GroupLevels}, {"place", GroupLevels},
	{"hum", GroupMains}, {"no-hum", GroupMains}, {"swings", GroupMains}, {"only-mains", GroupMains}, {"full-waves", GroupMains}, {"half-waves", GroupMains}, {"beyond", GroupMains},
	{"edges", GroupEdges}, {"bias", GroupEdges}, {"clock", GroupEdges},
	{"mains-phase", GroupMains}, {"load-steps", GroupMains},
	{"bounce", GroupNoise}, {"other-speed", GroupLosses}, {"other-format", GroupLosses}, {"other-polarity", GroupLosses}, {"own-reading", GroupLosses}, {"other-link", GroupLosses},
	{"spikes", GroupNoise}, {"no-spikes", GroupNoise}, {"short-pulses", GroupNoise},
	{"samples-a-bit", GroupRecord}, {"clipped", GroupRecord}, {"zero-moves", GroupRecord}, {"ac-coupled", GroupRecord}, {"learned", GroupRecord},
	{"unproven", GroupRecord},
}

// group is that of an evidence; what is named nowhere is of the dialogue.
func (e *Evidence) group() Group {
	for i := range groupOf {
		if strings.HasPrefix(e.ID, groupOf[i].prefix) {
			return groupOf[i].group
		}
	}
	return GroupDialogue
}
