package meshio

import (
	"bytes"
	"math"
	"strconv"
	"strings"
)

// text walks through a text file word by word or line by line. Lines end with
// LF, CR LF or CR.
type text struct {
	path string
	data []byte
	pos  int
	line int // of the last word or line returned, from 1
	owed int // line ends that nextLine has passed since
}

func newText(data []byte, path string) *text { return &text{path: path, data: data, line: 1} }

func space(c byte) bool { return c == ' ' || c >= '\t' && c <= '\r' }

// word returns the next word, nil at the end.
func (s *text) word() []byte {
	for ; s.pos < len(s.data) && space(s.data[s.pos]); s.pos++ {
		if s.lineEnd(s.pos) {
			s.line++
		}
	}
	from := s.pos
	for s.pos < len(s.data) && !space(s.data[s.pos]) {
		s.pos++
	}
	if from == s.pos {
		return nil
	}
	return s.data[from:s.pos]
}

// lineEnd reports whether a line ends with the byte at i.
func (s *text) lineEnd(i int) bool {
	return s.data[i] == '\n' || s.data[i] == '\r' && (i+1 == len(s.data) || s.data[i+1] != '\n')
}

// rest returns what is left of the line, trimmed, and stays before its end.
func (s *text) rest() []byte {
	from := s.pos
	if n := bytes.IndexAny(s.data[from:], "\r\n"); n >= 0 {
		s.pos += n
	} else {
		s.pos = len(s.data)
	}
	return bytes.TrimSpace(s.data[from:s.pos])
}

// nextLine returns the next line, trimmed, and passes its end; false at the
// end of the file.
func (s *text) nextLine() ([]byte, bool) {
	s.line, s.owed = s.line+s.owed, 0
	if s.pos >= len(s.data) {
		return nil, false
	}
	line := s.rest()
	if s.pos < len(s.data) {
		if !s.lineEnd(s.pos) {
			s.pos++ // CR of CR LF
		}
		s.pos++
		s.owed = 1
	}
	return line, true
}

// fail makes an error at the current line.
func (s *text) fail(hint, format string, args ...any) error {
	return atLine(s.path, s.line, hint, format, args...)
}

// parse reads a word as a finite number.
func (s *text) parse(w []byte) (float64, error) {
	x, err := strconv.ParseFloat(string(w), 64)
	if err == nil && finite(x) {
		return x, nil
	}
	if err == nil && !math.IsNaN(x) && !math.IsInf(x, 0) {
		return 0, s.fail(hintAgain, "%s is too large for a coordinate", quote(w))
	}
	hint := hintAgain
	if strings.Contains(string(w), ",") {
		hint = "numbers need a decimal point, not a comma"
	}
	return 0, s.fail(hint, "%s is not a finite number", quote(w))
}

// quote shows a word of a file within a message, shortened and printable.
func quote(w []byte) string {
	const most = 24
	if len(w) > most {
		return strconv.QuoteToASCII(string(w[:most]) + "...")
	}
	return strconv.QuoteToASCII(string(w))
}
