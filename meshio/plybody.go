package meshio

import (
	"encoding/binary"
	"fmt"
	"math"
	"strconv"
)

// plySource gives the values of a PLY body one after the other.
type plySource interface {
	// value returns the next value; more is false if the bytes are at an end,
	// good is false if they are no number.
	value(t plyType) (x float64, more, good bool)
	// left is the bytes not yet read.
	left() int
	// fail makes an error at the last value.
	fail(hint, format string, args ...any) error
}

// plyBinary is a binary body.
type plyBinary struct {
	path  string
	data  []byte
	pos   int
	last  int // where the last value stands
	order binary.ByteOrder
}

func (s *plyBinary) left() int { return len(s.data) - s.pos }

func (s *plyBinary) fail(hint, format string, args ...any) error {
	return atByte(s.path, s.last, hint, format, args...)
}

func (s *plyBinary) value(t plyType) (x float64, more, good bool) {
	n := t.size()
	s.last = s.pos
	if s.left() < n {
		s.last = len(s.data)
		return 0, false, false
	}
	b := s.data[s.pos : s.pos+n]
	s.pos += n
	switch t {
	case plyInt8:
		x = float64(int8(b[0]))
	case plyUint8:
		x = float64(b[0])
	case plyInt16:
		x = float64(int16(s.order.Uint16(b)))
	case plyUint16:
		x = float64(s.order.Uint16(b))
	case plyInt32:
		x = float64(int32(s.order.Uint32(b)))
	case plyUint32:
		x = float64(s.order.Uint32(b))
	case plyFloat32:
		x = float64(math.Float32frombits(s.order.Uint32(b)))
	case plyFloat64:
		x = math.Float64frombits(s.order.Uint64(b))
	}
	return x, true, true
}

// plyWords is an ASCII body. Rows are told by their values, not by line ends.
type plyWords struct{ *text }

func (s plyWords) left() int { return len(s.data) - s.pos }

func (s plyWords) value(plyType) (x float64, more, good bool) {
	w := s.word()
	if w == nil {
		return 0, false, false
	}
	x, err := strconv.ParseFloat(string(w), 64)
	return x, true, err == nil
}

// source returns the body of a PLY.
func (h *plyHeader) source(data []byte, path string) plySource {
	if h.format == PLYASCII {
		return plyWords{&text{path: path, data: data, pos: h.body, line: h.line}}
	}
	return &plyBinary{path: path, data: data, pos: h.body, last: h.body, order: h.order}
}

// need reads a value that must be there.
func need(s plySource, t plyType, e *plyElement, row int) (float64, error) {
	x, more, good := s.value(t)
	if !more {
		return 0, s.fail(hintAgain, "the file is cut off in %s", e.describe(row))
	}
	if !good {
		return 0, s.fail(hintAgain, "%s holds something that is not a number", e.describe(row))
	}
	return x, nil
}

// needCount reads the count of a list and holds it against the bytes left.
func needCount(s plySource, p plyProperty, e *plyElement, row int) (int, error) {
	x, err := need(s, p.count, e, row)
	if err != nil {
		return 0, err
	}
	if x < 0 || x != math.Trunc(x) {
		return 0, s.fail(hintAgain, "%s has a list of %g values", e.describe(row), x)
	}
	size := p.kind.size()
	if _, ascii := s.(plyWords); ascii {
		size = 1
	}
	if x > float64(s.left()/size) {
		return 0, s.fail(hintAgain, "the file is cut off: %s has a list of %.0f values but %d bytes are left", e.describe(row), x, s.left())
	}
	return int(x), nil
}

// skip passes over one property.
func skip(s plySource, p plyProperty, e *plyElement, row int) error {
	n := 1
	if p.list {
		var err error
		if n, err = needCount(s, p, e, row); err != nil {
			return err
		}
	}
	for range n {
		if _, err := need(s, p.kind, e, row); err != nil {
			return err
		}
	}
	return nil
}

// finite says whether x may be a coordinate.
func finite(x float64) bool { return math.Abs(x) <= math.MaxFloat32 }

// trailing notes what stands after the last element.
func trailing(s plySource) []string {
	n := s.left()
	if w, ok := s.(plyWords); ok && w.word() == nil {
		n = 0
	}
	if n == 0 {
		return nil
	}
	return []string{fmt.Sprintf("%d bytes after the last element were ignored", n)}
}
