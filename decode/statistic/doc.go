// Package statistic holds the statistics that facts about a signal line rest
// on, as pure functions from values to values: no state beyond the few
// bounded accumulators, no clock, no chance but a seed that the caller gives.
//
// One file holds one statistic or one family of them; the comment of each
// function names it, its reference, and the vector of testdata/statistics.json
// that pins its digits.
//
// # What comes back for odd input
//
//   - No data (no trial, no event, fewer values than the statistic needs, all
//     equal): estimates are NaN, the interval is all that is possible, and p is
//     an honest 1.
//   - Input that cannot be (a negative count, more successes than trials, a
//     confidence outside 0..1, NaN or an infinity among the values): all NaN.
//   - Nothing here panics.
//
// # p-values
//
// A p is the probability, where the hypothesis of no effect holds, of a result
// at least as far off as the one seen; two-sided unless an [Alternative] or the
// comment says otherwise. Where an exact distribution is cheap it is used, and
// the comment says up to which size; an exact p of discrete data is
// conservative: P(p <= a) <= a for every a. Where an approximation is used its
// error is stated as measured against exact cases.
//
// All tests suppose independent units. Errors on a line come in episodes:
// test over episodes, never over frames.
package statistic
