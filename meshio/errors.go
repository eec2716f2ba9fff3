package meshio

import (
	"fmt"
	"strings"
)

// FormatError is a file of a known kind that is damaged or breaks its format.
type FormatError struct {
	Path   string
	Line   int    // of a text file, from 1; 0 if none can be named
	Offset int64  // byte in a binary file, from 0; -1 if none can be named
	What   string // what is wrong
	Hint   string // what to do
}

func (e *FormatError) Error() string {
	where := ""
	if e.Line > 0 {
		where = fmt.Sprintf(", line %d", e.Line)
	} else if e.Offset >= 0 {
		where = fmt.Sprintf(", byte %d", e.Offset)
	}
	return sentence(e.Path+where, e.What, e.Hint)
}

// UnsupportedError is a file of a kind, or with a feature, that is not read.
type UnsupportedError struct {
	Path string
	What string // what it is
	Hint string // what to do
}

func (e *UnsupportedError) Error() string { return sentence(e.Path, e.What, e.Hint) }

// accessError is a file that could not be opened or read; Unwrap gives the cause.
type accessError struct {
	path, what, hint string
	cause            error
}

func (e *accessError) Error() string { return sentence(e.path, e.what, e.hint) }
func (e *accessError) Unwrap() error { return e.cause }

func sentence(path, what, hint string) string {
	s := "read " + path + ": " + what
	if hint != "" {
		s += "; " + hint
	}
	return strings.ReplaceAll(s, "\n", " ")
}

// What to do, in the words used more than once.
const (
	hintAgain  = "export or copy the file again"
	hintExport = "export the surface as STL, PLY, OBJ or 3MF"
)

// atByte makes a FormatError at a byte of a binary file.
func atByte(path string, offset int, hint, format string, args ...any) error {
	return &FormatError{Path: path, Offset: int64(offset), What: fmt.Sprintf(format, args...), Hint: hint}
}

// atLine makes a FormatError at a line of a text file.
func atLine(path string, line int, hint, format string, args ...any) error {
	return &FormatError{Path: path, Line: line, Offset: -1, What: fmt.Sprintf(format, args...), Hint: hint}
}

// nowhere makes a FormatError that concerns the whole file.
func nowhere(path, hint, format string, args ...any) error {
	return &FormatError{Path: path, Offset: -1, What: fmt.Sprintf(format, args...), Hint: hint}
}
