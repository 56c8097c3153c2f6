// Package validate measures frames and folds what it measured into facts: per side how many frames were good and what
// broke the others, the sender's clock, bias and distortion, turn-around, and polls that nobody answered.
//
// Quality is measured frame by frame and may run in parallel; Fold takes frames in order of time and holds a bounded
// amount whatever the length of the recording.
package validate
