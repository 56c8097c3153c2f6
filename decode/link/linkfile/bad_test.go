package linkfile_test

import (
	"errors"
	"strings"
	"testing"

	"linewitness/decode/link/linkfile"
)

// Each case changes heron.yaml once and states the first line of the error.
var badFiles = []struct{ old, new, want string }{
	{"name: Heron loop\n", "nam: Heron loop\n", `2:1: nam: expected one of the keys schema, name, invented, note, kind, supply, line, roles, address, framing, checksum, timing, frames, found "nam"`},
	{"name: Heron loop\n", "", `1:1: expected the key name, found none`},
	{"kind: loop3", "kind: loop4", `5:7: kind: expected loop3, pair or logic, found "loop4"`},
	{"kind: loop3", "kind: loop3\nkind: pair", `6:1: kind: expected each key once, found it a second time`},
	{"invented: true", "invented: 1", `3:11: invented: expected true or false, found 1`},
	{"invented: true", "invented: &x true", `3:11: expected plain YAML, found an anchor`},
	{"invented: true", "invented: *x", `3:11: expected plain YAML, found an alias`},
	{"invented: true", "invented: !!bool true", `3:11: expected plain YAML, found a tag`},
	{"invented: true", "<<: {a: b}", `3:1: expected plain YAML, found a merge key`},
	{"invented: true", "? invented\n: true", `3:1: expected plain YAML, found an explicit key`},
	{"invented: true", "invented: [", `3:11: expected YAML, found a mistake: sequence end token ']' not found`},
	{"schema: linewitness/profile/1", "schema: linewitness/profile/2", `1:9: schema: expected linewitness/profile/1, found "linewitness/profile/2"`},
	{"schema: linewitness", "%YAML 1.2\n---\nschema: linewitness", `1:1: expected plain YAML, found a directive`},
	{"  - {name: state, from: outdoor}", "  - {name: state, from: outdoor}\n---\na: b", `38:1: expected one document, found a second one`},
	{"  - {name: state, from: outdoor}", "  - {name: state, from: outdoor}\n...", `38:1: expected plain YAML, found a document's end`},
	{"Heron loop", "Heron \xFFloop", `2:13: expected text in UTF-8, found the byte 0xFF`},
	{"Heron loop", "Heron \x07loop", `2:13: expected printable text, found the character U+0007`},
	{"Heron loop", "\"Heron\\x07loop\"", `2:7: name: expected text of 1 to 100 printable characters, found "Heron\aloop"`},
	{"Heron loop", "12", `2:7: name: expected text of 1 to 100 printable characters (in quotes, where they look like a number), found 12`},
	{"Heron loop", "", `2:6: name: expected text of 1 to 100 printable characters, found nothing`},
	{"speed_bd: 1200", "speed_bd: 0", `7:18: line.speed_bd: expected 1 to 1e+07, found 0`},
	{"speed_bd: 1200", "speed_bd: .inf", `7:18: line.speed_bd: expected 1 to 1e+07, found .inf`},
	{"speed_bd: 1200", "speed_bd: \"1200\"", `7:18: line.speed_bd: expected 1 to 1e+07, found "1200"`},
	{"speed_bd: 1200", "speed_bd: 1_200", `7:18: line.speed_bd: expected 1 to 1e+07, found "1_200"`},
	{"format: 8E1", "format: 8X1", `7:32: line.format: expected data bits 5..9, parity N E O M or S, stop bits 1, 1.5 or 2 (such as 8E1), found "8X1"`},
	{"responder: outdoor", "responder: indoor", `8:40: roles.responder: expected another side than the controller's, found indoor`},
	{"units: [{value: 0x20, name: living room, side: indoor}]", "units: [{value: 32, name: a}, {value: 0x20, name: b}]", `9:56: address.units[1].value: expected each address once, found 0x20 a second time`},
	{"units: [{value: 0x20, name: living room, side: indoor}]", "units: [{value: 1, name: a}, {value: 2, name: a}]", `9:64: address.units[1].name: expected each name once, found "a" a second time`},
	{"value: 0x20", "value: 0x100", `9:34: address.units[0].value: expected 0 to 255, found 0x100`},
	{"value: 0x20", "value: 020", `9:34: address.units[0].value: expected 0 to 255, found 020`},
	{"gap_ms: 10", "gap_ms: 10\n  gap_characters: 3", `17:3: framing.gap_characters: expected no gap_characters beside gap_ms, found both`},
	{"gap_ms: 10", "gap_ms: 4", `17:14: framing.inside_ms: expected no more than the silence that ends a frame, 4 ms, found 5 ms`},
	{"gap_ms: 10", "fixed: 12", `11:3: framing.length: expected no length beside fixed, found both`},
	{"gap_ms: 10", "modbus: true", `11:3: framing.length: expected no length beside modbus, found both`},
	{"  end: \"16\"\n", "", `13:14: framing.after_end: expected an end mark beside it, found none`},
	{"end: \"16\"", "end: 16", `13:8: framing.end: expected pairs of hexadecimal digits (in quotes, where they look like a number), found 16`},
	{"end: \"16\"", "end: \"1G\"", `13:8: framing.end: expected pairs of hexadecimal digits, found "1G"`},
	{"end: \"16\"", "end: 7D", `19:18: framing.escape.mark: expected no character of the frame's marks, found 0x7D`},
	{"format: 8E1", "format: 7E1", `12:10: framing.start: expected characters of 7 bits, found AA`},
	{"format: 8E1", "format: 9N1", `12:10: framing.start: expected characters of 9 bits, found AA55`},
	{"coding: escape", "coding: hex", `19:11: framing.escape: expected coding: escape beside it, found coding: hex`},
	{"  escape: {mark: 0x7D, xor: 0x20}\n", "", `18:11: framing.coding: expected an escape beside it, found none`},
	{"crc16 poly", "crc17 poly", `20:18: checksum.rule: expected sum8, sum8-twos-complement, sum8-ones-complement, sum8-carry, sum8-carry-ones-complement, xor8, fletcher16, fletcher16-mod256, crc8, crc16, none or unknown, found "crc17"`},
	{"poly=0x8005", "poly=0x18005", `20:18: checksum.rule: expected poly of at most 16 bits, found "poly=0x18005"`},
	{"covers: [0, -2]", "covers: [0, 0]", `20:96: checksum.covers: expected octets and a sum outside them in a frame of at most 4096, found [0, 0) and -2`},
	{"covers: [0, -2]", "covers: [0]", `20:96: checksum.covers: expected 2 values, found 1`},
	{"\"crc16 poly=0x8005 init=0xFFFF refin=true refout=true xorout=0x0000\"", "sum8", `20:56: checksum.order: expected no order for a sum of one octet, found little`},
	{"\"crc16 poly=0x8005 init=0xFFFF refin=true refout=true xorout=0x0000\"", "none", `20:24: checksum.covers: expected no covers beside rule: none, found both`},
	{"[10, 80]", "[80, 10]", `21:51: timing.turnaround_ms[1]: expected no less than the shortest, found 10`},
	{"retries: 2", "retries: 2.5", `21:65: timing.retries: expected 0 to 1000, found 2.5`},
	{"slow_after_s: 10", "slow_after_s: 1e9", `21:125: timing.slow_after_s: expected 0 to 86400, found 1e9`},
	{"is: 0x10", "is: 0x11", `25:25: frames[0].match[0].is: expected what the template has there, 0x10, found 0x11`},
	{"mask: 0xFF", "mask: 0x0F", `25:25: frames[0].match[0].is: expected no bit outside the mask 0x0F, found 0x10`},
	{"match: [{at: 1", "match: [{at: 12", `25:18: frames[0].match[0].at: expected a place in a frame of 12 octets, found 12`},
	{"length: 12", "length: 2", `29:15: frames[0].template: expected at most 2 octets, found 3`},
	{"length: 12", "length: 7", `35:28: frames[0].fields[4].at: expected 1 octet inside a frame of 7 octets, found 7`},
	{"answered_by: [state]", "answered_by: [states]", `27:19: frames[0].answered_by[0]: expected the name of a kind of frame, found "states"`},
	{"answered_by: [state]", "answered_by: [state, state]", `27:26: frames[0].answered_by[1]: expected each name once, found "state" a second time`},
	{"{name: state, from", "{name: ask, from", `37:12: frames[1].name: expected each name once, found "ask" a second time`},
	{"name: coil 2", "name: coil", `35:16: frames[0].fields[4].name: expected each name once, found "coil" a second time`},
	{"template: 20 10 00", "template: 20 10 0", `29:15: frames[0].template: expected pairs of hexadecimal digits, found "20 10 0"`},
	{"at: 4, bits: 3", "at: -1, octets: 2", `32:26: frames[0].fields[1].at: expected 2 octets inside a frame of 12 octets, found -1`},
	{"at: 4, bits: 3", "at: 4, bit: 8", `32:34: frames[0].fields[1].bit: expected 0 to 7, found 8`},
	{"at: 4, bits: 3", "at: 4, bit: 2, bits: 7", `32:43: frames[0].fields[1].bits: expected 1 to 6, found 7`},
	{"at: 4, bits: 3", "at: 4, bits: 1", `32:63: frames[0].fields[1].names.2: expected 0 to 1, found 2`},
	{"at: 4, bits: 3", "at: 4, counter: true", `32:29: frames[0].fields[1].counter: expected no counter beside names, found both`},
	{"{0: off, 1: cool, 2: heat}", "{0: off, 0x0: cool}", `32:54: frames[0].fields[1].names.0x0: expected each number once, found 0 a second time`},
	{"{0: off, 1: cool, 2: heat}", "{off: 0}", `32:46: frames[0].fields[1].names.off: expected a whole number as the key, found "off"`},
	{"{0: off, 1: cool, 2: heat}", "{0: 1}", `32:49: frames[0].fields[1].names.0: expected text of 1 to 100 printable characters (in quotes, where they look like a number), found 1`},
	{"{0: off, 1: cool, 2: heat}", "{}", `32:45: frames[0].fields[1].names: expected a mapping of 1 to 1024 numbers to names, found one of 0`},
	{"scale: 0.5", "scale: 0", `31:103: frames[0].fields[0].scale: expected a number other than 0, found 0`},
	{"flags: {0: communication, 3: fan}", "flags: {8: fan}", `33:39: frames[0].fields[2].flags.8: expected 0 to 7, found 8`},
	{"flags: {0: communication, 3: fan}", "flags: {0: fan}, unit: V", `33:48: frames[0].fields[2].unit: expected no unit beside flags, found both`},
	{"r25: 10000, beta: 3435", "r25: 10000", `34:41: frames[0].fields[3].thermistor: expected r25 and beta, or points, found no beta`},
	{"r25: 10000, beta: 3435", "r25: 10000, points: [[0, 2], [1, 1]]", `34:42: frames[0].fields[3].thermistor.r25: expected no r25 beside points, found both`},
	{"pull: 10000, full: 255, pull_down: false", "full: 255", `34:41: frames[0].fields[3].thermistor: expected the key pull, found none`},
	{"[25, 10000]", "[-25, 10000]", `35:66: frames[0].fields[4].thermistor.points[1][0]: expected a higher temperature than 0, found -25`},
	{"[25, 10000]", "[25, 27326]", `35:70: frames[0].fields[4].thermistor.points[1][1]: expected resistances that all fall or all rise, found 27326`},
	{"[25, 10000]", "[25]", `35:65: frames[0].fields[4].thermistor.points[1]: expected 2 values, found 1`},
	{"at: 7, thermistor", "at: 7, unit: K, thermistor", `35:37: frames[0].fields[4].unit: expected degC for a thermistor, found "K"`},
	{"supply: {from", "supply: {\tfrom", `6:14: expected YAML, found a mistake: tab character cannot use as a map key directly`},
	{"supply: {from: outdoor, volts: 36, waveform: dc, reference: N}", "supply: [[[[[[[[[[[[[[[[[[[]]]]]]]]]]]]]]]]]]]", `6:25: expected at most 16 brackets or dashes in one another, found more`},
}

func TestBadFiles(t *testing.T) {
	file := heron(t)
	for _, c := range badFiles {
		if strings.Count(file, c.old) == 0 {
			t.Fatalf("%q is not in the file", c.old)
		}
		_, err := linkfile.Read("heron.yaml", []byte(strings.Replace(file, c.old, c.new, 1)))
		if err == nil {
			t.Errorf("%q: no error, want %s", c.new, c.want)
			continue
		}
		if got, _, _ := strings.Cut(err.Error(), "\n"); got != "heron.yaml:"+c.want {
			t.Errorf("%q:\n got %s\nwant %s", c.new, got, c.want)
		}
		pointsAtFound(t, err)
	}
}

func TestFilesOfNothing(t *testing.T) {
	for _, c := range []struct{ name, file, want string }{
		{"empty", "", "1:1: expected a link profile, found an empty file"},
		{"comments", "# a\n\n# b\n", "1:1: expected a link profile, found an empty file"},
		{"a word", "heron", `1:1: expected a mapping with the keys schema, name, invented, note, kind, supply, line, roles, address, framing, checksum, timing, frames, found "heron"`},
		{"a list", "- a", `1:1: expected a mapping with the keys schema, name, invented, note, kind, supply, line, roles, address, framing, checksum, timing, frames, found a list`},
		{"too long", strings.Repeat("#", 1<<20+1), "1:1: expected at most 1048576 bytes, found 1048577"},
		{"empty lines", "schema: >\n a" + strings.Repeat("\n", 103), "103:1: expected at most 100 empty lines in a row, found more"},
		{"too many marks", strings.Repeat("- 1\n", 20000), "15001:1: expected at most 30000 words, marks and comments, found more"},
		{"dashes", strings.Repeat("- ", 1000), `1:33: expected at most 16 brackets or dashes in one another, found more`},
	} {
		_, err := linkfile.Read("p.yaml", []byte(c.file))
		if err == nil {
			t.Errorf("%s: no error", c.name)
			continue
		}
		if got, _, _ := strings.Cut(err.Error(), "\n"); got != "p.yaml:"+c.want {
			t.Errorf("%s:\n got %s\nwant %s", c.name, got, c.want)
		}
	}
}

// pointsAtFound checks that what an error found stands at its column of its line, where it is a scalar.
func pointsAtFound(t *testing.T, err error) {
	t.Helper()
	var e *linkfile.Error
	if !errors.As(err, &e) {
		t.Fatalf("got %T", err)
	}
	word, rest, _ := strings.Cut(e.Found, " ")
	if rest != "" && !strings.HasPrefix(rest, "a second") || strings.ContainsAny(word, "\\") {
		return
	}
	source := []rune(e.Source)
	here := strings.TrimLeft(string(source[min(e.Column-1, len(source)):]), `"`)
	for _, other := range []string{"both", "nothing", "none", "it", "more"} {
		if word == other {
			return
		}
	}
	if e.Path == "checksum.rule" { // found is a word of the rule
		here = here[max(0, strings.Index(here, strings.Trim(word, `"`))):]
	}
	if !strings.HasPrefix(here, strings.Trim(word, `"`)) && !strings.Contains(e.Expected, " values") && !strings.Contains(e.Expected, "octets") {
		t.Errorf("%s: the column points at %q", e, here)
	}
}
