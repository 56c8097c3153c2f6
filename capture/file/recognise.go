package file

import "bytes"

// format is what a file's first bytes show; one that can't be read is named as errors name it.
type format string

const (
	formatNone   format = ""
	formatVCD    format = "VCD"
	formatCSV    format = "CSV"
	formatWAV    format = "WAV"
	formatPcapng format = "pcapng"
	formatGzip   format = "compressed files; decompress it first (gzip -dc FILE | linewitness ... -)"
)

var byteOrderMark = []byte("\ufeff")

// recognise tells the format of a file that starts with head.
func recognise(head []byte) format {
	switch {
	case isWave(head):
		return formatWAV
	case bytes.HasPrefix(head, []byte{0x0A, 0x0D, 0x0D, 0x0A}):
		return formatPcapng
	case bytes.HasPrefix(head, []byte{0x1F, 0x8B}):
		return formatGzip
	case isCSV(head):
		return formatCSV
	}
	if trimmed := bytes.TrimLeft(head, blanks); len(trimmed) > 1 && trimmed[0] == '$' && isLower(trimmed[1]) {
		return formatVCD
	}
	return formatNone
}

const blanks = " \t\r\n\v\f"

func blank(s []byte) bool { return len(bytes.TrimLeft(s, blanks)) == 0 }

func isLower(c byte) bool { return c >= 'a' && c <= 'z' }

func isWave(head []byte) bool {
	return len(head) >= 12 && string(head[8:12]) == "WAVE" && (string(head[:4]) == "RIFF" || string(head[:4]) == "RF64")
}

// isCSV looks for time_s in the first line that isn't blank, if that can be text.
func isCSV(head []byte) bool {
	line := bytes.TrimLeft(bytes.TrimPrefix(head, byteOrderMark), blanks)
	if i := bytes.IndexByte(line, '\n'); i >= 0 {
		line = line[:i]
	}
	for _, c := range line {
		if c < ' ' && c != '\t' && c != '\r' {
			return false
		}
	}
	return bytes.Contains(bytes.ToLower(line), []byte("time_s"))
}
