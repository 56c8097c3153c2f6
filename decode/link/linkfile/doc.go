// Package linkfile reads and writes link profiles: YAML files that describe what two units speak.
//
// A profile names the kind of link, speed and character format, how characters become frames, what guards a frame, the
// dialogue's timing, and the kinds of frames with their numbers. A short one:
//
//	schema: linewitness/profile/1
//	name: Heron loop
//	invented: true
//	kind: loop3
//	line: {speed_bd: 1200, format: 8E1}
//	framing: {fixed: 12, gap_ms: 10}
//	checksum: {rule: sum8, covers: [0, -1], at: -1}
//	frames:
//	  - name: ask
//	    from: indoor
//	    match: [{at: 1, is: 0x10}]
//	    answered_by: [state]
//	    fields:
//	      - {name: room temperature, at: 3, scale: 0.5, offset: -10, unit: degC}
//	  - {name: state, from: outdoor, match: [{at: 1, is: 0x20}]}
//
// Schema has every key with its meaning, limits and default. The same tags of one set of structs (document.go) make the
// schema, the reader and the writer.
//
// Read is strict: what it doesn't know is a mistake, never skipped. Of YAML 1.2.2 it takes one document of mappings,
// sequences and scalars of the core schema (clause 10.3). Refused are anchors, aliases, tags, merge keys, directives and
// explicit keys, whole numbers with leading zeros, and text that looks like a number and stands in no quotes (`end: "16"`).
//
// A file says what the link is, not how a recording shows it. Line.Mid, Spaces, Either, Measured, Learned, Equivalent and
// FeedAssumed (with the Feed it marks as assumed) stand in no file: Read leaves them zero, Write leaves them out.
package linkfile
