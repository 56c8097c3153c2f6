// Package uart reads start-stop characters (ITU-T V.1: mark is idle and 1, space is active and 0) from transitions,
// each with its signal quality, and finds speed, format and polarity of an unknown line.
//
// A character begins with the edge from mark to space. Bits are read in the middle of each unit interval. Every edge
// after the first has a displacement d = (t - t0)/T - k from the k-th bit border, in unit intervals:
//
//	degree of start-stop distortion    largest |d| in the character (FED-STD-1037C), late positive
//	degree of isochronous distortion   largest minus smallest d
//	bias                               mean d of edges to space minus mean d of edges to mark: marks lengthened is positive
//
// The sender's clock comes from a least-squares line through the displacements of like edges within characters, in
// which bias cancels. Limits: pulses under a quarter of the unit interval are glitches and are passed over; a start
// element of under half of it is a false start.
package uart
