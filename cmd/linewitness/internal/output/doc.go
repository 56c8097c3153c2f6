// Package output translates what an examination found into what is handed on: a finding as one line of JSON, a
// finding as an answer for people, and frames one a line.
//
//	decode.Finding -> AppendFinding -> {"schema":"linewitness/finding/1", ...}
//	decode.Finding -> WriteText     -> verdict, evidence, what is cleared, what to measure next, with its caution
//	link.Frame     -> Frames.Add    -> .jsonl or .csv
//
// Nothing is computed here that moves a verdict. What was not measured is null, never 0; arrays are never null.
// Instants become seconds on the recording's own axis only here, so that they read as they stand in the file.
package output
