//go:build race

package validate_test

// levelSeconds is the length of recordings of levels; the race detector makes everything many times slower.
const levelSeconds = 6.

// edgeSeconds is that of edges at high rates.
const edgeSeconds = 0.8

// talkSeconds is the length of sound talk.
const talkSeconds = 4.

// cutSeconds is the length of recordings that are cut in a hundred ways.
const cutSeconds = 0.7
