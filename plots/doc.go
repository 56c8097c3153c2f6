// Package plots draws a Finding and computes nothing.
//
//	excerpt -> Line -> SVG or PNG
//	Finding -> Charts -> SVG or PNG
//	Finding -> WritePage -> one HTML page with its figures inside
//	Finding -> WriteReport -> a folder with report.html, line.svg, line.png and the charts
//
// A figure has lanes over one time axis, from the top: notes and glitches, the level on the line, its characters,
// its frames. What broke a rule differs in three ways that survive grey print and colour blindness: colour, a dashed
// outline and a cross.
//
// A trace is thinned to one column a pixel before it is stroked, and stroked in short pieces: the cost of a stroke
// grows faster than its length.
package plots
