package verdict

import (
	"math"
	"testing"

	"linewitness/capture"
	"linewitness/decode/cause"
	"linewitness/decode/validate"
)

// moves is the marginal likelihood of a row: by hand for short ones, and all rows of one length make 1.
func TestMoves(t *testing.T) {
	t.Parallel()
	row := func(bad ...bool) *validate.Course {
		c := &validate.Course{}
		for i, b := range bad {
			c.N++
			if b {
				c.Bad++
				if c.Last == 0 {
					c.Spells++
				}
				c.Last++
				c.Begins = c.Begins || i == 0
			} else {
				c.Last = 0
			}
		}
		return c
	}
	// good, good, bad, bad: 1/2 for the first; a good one stays good and then turns, B(2,2)/B(1,1) = 1/6; a bad one stays, 1/2.
	if got, want := moves(row(false, false, true, true), 1, 1, 1, 1), math.Log(0.5/6*0.5); math.Abs(got-want) > 1e-12 {
		t.Errorf("got %v, want %v", got, want)
	}
	sum := 0.0
	const n = 9
	for k := range 1 << n {
		bad := make([]bool, n)
		for i := range bad {
			bad[i] = k>>i&1 == 1
		}
		sum += math.Exp(moves(row(bad...), 1, 20, 2, 7))
	}
	if math.Abs(sum-1) > 1e-12 {
		t.Errorf("all rows make %v", sum)
	}
}

// The same losses in another order: at the end in one row they are a sender's that fell silent, here and there they are noise's.
func TestOrderTellsWhatLasts(t *testing.T) {
	t.Parallel()
	input := func(spells, last int64) Input {
		f := &validate.Facts{TwoTalk: true, Senders: []validate.Sender{{Side: capture.Indoor, Frames: 70, Good: 70}, {Side: capture.Outdoor, Frames: 35, Good: 35}},
			Answered: 35, Solicited: 70, Replies: validate.Course{N: 70, Bad: 35, Spells: spells, Last: last}}
		f.Senders[0].Course, f.Senders[1].Course = validate.Course{N: 70}, validate.Course{N: 35}
		f.Senders[1].Missing.N = 35
		nan := math.NaN()
		return Input{Facts: f, Tap: capture.LoopCurrent, Changes: 1000, Signals: []Signal{{nan, nan, nan}, {nan, nan, nan}}}
	}
	odds := func(in Input) float64 {
		p := map[Key]float64{}
		for _, c := range Judge(in).Candidates {
			p[c.Key] = c.Probability
		}
		return math.Log2(p[Key{cause.SilentSender, capture.Outdoor}] / p[Key{cause.IntermittentContact, capture.Line}])
	}
	once, often := odds(input(1, 35)), odds(input(18, 1))
	if once < 2 || often > once-2 {
		t.Errorf("silent against a contact: %.1f bits where the replies end, %.1f where they come and go", once, often)
	}
}
