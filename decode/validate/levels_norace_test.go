//go:build !race

package validate_test

// levelSeconds is the length of recordings of levels.
const levelSeconds = 20.

// edgeSeconds is that of edges at high rates.
const edgeSeconds = 2.

// talkSeconds is the length of sound talk.
const talkSeconds = 60.

// cutSeconds is the length of recordings that are cut in a hundred ways.
const cutSeconds = 2.
