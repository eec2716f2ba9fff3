package pdf

import (
	"bytes"
	"compress/zlib"
	"io"
	"regexp"
	"strings"
	"testing"
	"unicode/utf16"
)

// The parts of a PDF that the reader below looks for (ISO 32000-1, 7.3.4.2
// strings, 7.3.8 streams, 9.4.3 operator Tj).
var (
	streamOf = regexp.MustCompile(`(?s)stream\r?\n(.*?)\r?\nendstream`)
	shown    = regexp.MustCompile(`(?s)\(((?:\\.|[^\\()])*)\) ?Tj`)
	escaped  = regexp.MustCompile(`(?s)\\(.)`)
)

// readText is a reader of the text of these reports, in the order of the file:
// strings shown by Tj in the pages' streams, two bytes a character. The table of
// characters that each font carries maps a code to the same UTF-16 unit.
func readText(t *testing.T, b []byte) string {
	t.Helper()
	if !bytes.Contains(b, []byte("/Encoding /Identity-H")) {
		t.Fatal("the fonts are coded otherwise than this reader knows")
	}
	var out strings.Builder
	for _, s := range streamOf.FindAllSubmatch(b, -1) {
		z, err := zlib.NewReader(bytes.NewReader(s[1]))
		if err != nil {
			continue // no packed stream
		}
		text, err := io.ReadAll(z)
		if err != nil || !bytes.Contains(text, []byte("BT")) {
			continue
		}
		for _, m := range shown.FindAllSubmatch(text, -1) {
			out.WriteString(decoded(m[1]) + "\n")
		}
	}
	return out.String()
}

// decoded undoes the escapes of a string and reads its characters.
func decoded(b []byte) string {
	b = escaped.ReplaceAllFunc(b, func(m []byte) []byte {
		if m[1] == 'r' {
			return []byte("\r")
		}
		return m[1:]
	})
	units := make([]uint16, len(b)/2)
	for i := range units {
		units[i] = uint16(b[2*i])<<8 | uint16(b[2*i+1])
	}
	return string(utf16.Decode(units))
}

// TestReaders: two readers that know nothing of one another find the same words
// in the same order.
func TestReaders(t *testing.T) {
	b := written(t, sample(t, A4), false)
	mine, theirs := strings.Fields(readText(t, b)), strings.Fields(extracted(t, b))
	if len(mine) < 300 {
		t.Fatalf("only %d words were read", len(mine))
	}
	for i := range mine {
		if i >= len(theirs) || mine[i] != theirs[i] {
			t.Fatalf("word %d is %q here and %q there; before: %v", i, mine[i], theirs[min(i, len(theirs)-1)], mine[max(0, i-8):i])
		}
	}
}
