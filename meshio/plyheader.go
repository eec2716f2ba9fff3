package meshio

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"strconv"
	"strings"
)

// plyHeader is the part of a PLY up to end_header.
type plyHeader struct {
	format  string           // PLYASCII, PLYBinaryLE or PLYBinaryBE
	order   binary.ByteOrder // of a binary body
	element []plyElement
	body    int // where the body begins
	line    int // and in which line
}

// plyElement is a table: count rows, each with the properties in turn.
type plyElement struct {
	name     string
	count    int
	property []plyProperty
}

// plyProperty is a column: a scalar, or a list with its own count.
type plyProperty struct {
	name  string
	kind  plyType
	list  bool
	count plyType // type of a list's count
}

// find returns the index of the property of one of the names, -1 if none.
func (e *plyElement) find(names ...string) int {
	for i, p := range e.property {
		for _, n := range names {
			if p.name == n {
				return i
			}
		}
	}
	return -1
}

// least is the fewest bytes that a row takes: an ASCII word and its blank
// take two.
func (e *plyElement) least(ascii bool) int {
	n := 0
	for _, p := range e.property {
		switch {
		case ascii:
			n += 2
		case p.list:
			n += p.count.size()
		default:
			n += p.kind.size()
		}
	}
	return n
}

// readPLYHeader reads the header, which is text whatever the body.
func readPLYHeader(data []byte, path string) (*plyHeader, error) {
	h := &plyHeader{}
	s := newText(data, path)
	for first := true; ; first = false {
		line, ok := s.nextLine()
		if !ok {
			return nil, s.fail(hintAgain, "the file is cut off: the header has no end_header")
		}
		if first {
			continue
		}
		if string(line) == "end_header" {
			break
		}
		if err := h.statement(s, line); err != nil {
			return nil, err
		}
	}
	if h.format == "" {
		return nil, s.fail(hintAgain, "the header names no format")
	}
	h.body, h.line = s.pos, s.line+1
	return h, nil
}

// statement reads one line of the header.
func (h *plyHeader) statement(s *text, line []byte) error {
	w := strings.Fields(string(line))
	if len(w) == 0 || w[0] == "comment" || w[0] == "obj_info" {
		return nil
	}
	switch {
	case w[0] == "format" && len(w) == 3:
		return h.setFormat(s, w[1])
	case w[0] == "element" && len(w) == 3:
		return h.addElement(s, w[1], w[2])
	case w[0] == "property" && len(h.element) > 0:
		return h.addProperty(s, w[1:])
	}
	return s.fail(hintAgain, "%s is no statement of a PLY header", quote(bytes.TrimSpace(line)))
}

func (h *plyHeader) setFormat(s *text, name string) error {
	switch name {
	case "ascii":
		h.format = PLYASCII
	case "binary_little_endian":
		h.format, h.order = PLYBinaryLE, binary.LittleEndian
	case "binary_big_endian":
		h.format, h.order = PLYBinaryBE, binary.BigEndian
	default:
		return s.fail(hintExport, "PLY format %q is not known", name)
	}
	return nil
}

func (h *plyHeader) addElement(s *text, name, count string) error {
	n, err := strconv.Atoi(count)
	if err != nil || n < 0 {
		return s.fail(hintAgain, "element %q has the count %q", name, count)
	}
	h.element = append(h.element, plyElement{name: name, count: n})
	return nil
}

// addProperty reads "TYPE NAME" or "list COUNTTYPE TYPE NAME".
func (h *plyHeader) addProperty(s *text, w []string) error {
	p := plyProperty{}
	if len(w) == 4 && w[0] == "list" {
		p.list, p.count = true, plyTypes[w[1]]
		if !p.count.whole() {
			return s.fail(hintAgain, "a list cannot have a count of type %q", w[1])
		}
		w = w[2:]
	}
	if len(w) != 2 {
		return s.fail(hintAgain, "the property is incomplete")
	}
	p.kind, p.name = plyTypes[w[0]], w[1]
	if p.kind == 0 {
		return s.fail(hintExport, "property type %q is not known", w[0])
	}
	e := &h.element[len(h.element)-1]
	e.property = append(e.property, p)
	return nil
}

// plyType is a scalar type; 0 is none.
type plyType uint8

const (
	plyInt8 plyType = iota + 1
	plyUint8
	plyInt16
	plyUint16
	plyInt32
	plyUint32
	plyFloat32
	plyFloat64
)

// plyTypes are the type names: those of the first description and those with
// a size that came later.
var plyTypes = map[string]plyType{
	"char": plyInt8, "uchar": plyUint8, "short": plyInt16, "ushort": plyUint16,
	"int": plyInt32, "uint": plyUint32, "float": plyFloat32, "double": plyFloat64,
	"int8": plyInt8, "uint8": plyUint8, "int16": plyInt16, "uint16": plyUint16,
	"int32": plyInt32, "uint32": plyUint32, "float32": plyFloat32, "float64": plyFloat64,
}

// size is the bytes of a value.
func (t plyType) size() int { return [...]int{0, 1, 1, 2, 2, 4, 4, 4, 8}[t] }

// whole reports whether the type is an integer.
func (t plyType) whole() bool { return t >= plyInt8 && t <= plyUint32 }

// describe says what an element is, for messages.
func (e *plyElement) describe(row int) string {
	return fmt.Sprintf("%s %d of %d", e.name, row+1, e.count)
}
