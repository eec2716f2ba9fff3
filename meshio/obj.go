package meshio

import (
	"bytes"
	"fmt"
	"math"
	"strconv"

	"crownassay/geom"
)

// objText reads the vertices (v) and faces (f) of an OBJ; other statements
// (texture, normals, groups, materials, lines, curves) are passed over. Groups
// become one mesh. A face names vertices as 7, 7/1, 7//3 or 7/1/3, from 1 up
// or, with a minus sign, back from the last vertex read.
type objText struct {
	*text
	builder
	field  [][]byte // words of the statement, reused
	joined []byte   // statement put together from continued lines, reused
	corner []int32  // of the face, reused
	high   int32    // highest vertex named so far, from 0
	highAt int      // and its line
}

func decodeOBJ(data []byte, path string) (*File, error) {
	d := &objText{text: newText(bytes.TrimPrefix(data, []byte("\ufeff")), path), high: -1}
	for d.next() {
		if err := d.statement(); err != nil {
			return nil, err
		}
	}
	if int(d.high) >= len(d.v) {
		return nil, atLine(path, d.highAt, hintAgain, "the face names vertex %d but the file has %d", d.high+1, len(d.v))
	}
	m, err := d.finish(path)
	if err != nil {
		return nil, err
	}
	return &File{Format: OBJ, Mesh: m, Notes: d.notes()}, nil
}

// next splits the next statement into words; false at the end. A line that
// ends with a backslash goes on in the next.
func (d *objText) next() bool {
	for {
		line, ok := d.logicalLine()
		if !ok {
			return false
		}
		if d.split(line); len(d.field) > 0 {
			return true
		}
	}
}

// logicalLine returns the next line with its continuations, without comment.
func (d *objText) logicalLine() ([]byte, bool) {
	line, ok := d.plainLine()
	if !bytes.HasSuffix(line, []byte("\\")) {
		return line, ok
	}
	d.joined = d.joined[:0]
	for bytes.HasSuffix(line, []byte("\\")) {
		d.joined = append(append(d.joined, line[:len(line)-1]...), ' ')
		line, _ = d.plainLine()
	}
	d.joined = append(d.joined, line...)
	return d.joined, true
}

// plainLine returns the next line without its comment.
func (d *objText) plainLine() ([]byte, bool) {
	line, ok := d.nextLine()
	if i := bytes.IndexByte(line, '#'); i >= 0 {
		line = line[:i]
	}
	return line, ok
}

// split cuts a line into words, in d.field.
func (d *objText) split(line []byte) {
	d.field = d.field[:0]
	for i := 0; i < len(line); {
		for i < len(line) && space(line[i]) {
			i++
		}
		from := i
		for i < len(line) && !space(line[i]) {
			i++
		}
		if i > from {
			d.field = append(d.field, line[from:i])
		}
	}
}

func (d *objText) statement() error {
	switch string(d.field[0]) {
	case "v":
		return d.vertex()
	case "f", "fo":
		return d.face()
	}
	return nil
}

// vertex reads "v x y z"; a weight or a colour after it is passed over.
func (d *objText) vertex() error {
	if len(d.field) < 4 {
		return d.fail(hintAgain, "vertex %d has %d coordinates where 3 are needed", len(d.v)+1, len(d.field)-1)
	}
	var x [3]float64
	for k := range x {
		var err error
		if x[k], err = d.parse(d.field[k+1]); err != nil {
			return err
		}
	}
	d.v = append(d.v, geom.V(x[0], x[1], x[2]))
	return nil
}

func (d *objText) face() error {
	d.corner = d.corner[:0]
	for _, w := range d.field[1:] {
		i, err := d.index(w)
		if err != nil {
			return err
		}
		d.corner = append(d.corner, i)
	}
	d.polygon(d.corner)
	return nil
}

// index reads the vertex of one corner of a face, from 0.
func (d *objText) index(w []byte) (int32, error) {
	if i := bytes.IndexByte(w, '/'); i >= 0 {
		w = w[:i]
	}
	i, err := strconv.ParseInt(string(w), 10, 64)
	if err != nil {
		return 0, d.fail(hintAgain, "%s in a face is no vertex number", quote(w))
	}
	switch n := int64(len(d.v)); {
	case i > 0 && i <= math.MaxInt32:
		i--
	case i < 0 && i >= -n:
		i += n
	default:
		return 0, d.fail(hintAgain, "%s", outOfReach(i, n))
	}
	if int32(i) > d.high {
		d.high, d.highAt = int32(i), d.line
	}
	return int32(i), nil
}

func outOfReach(i, n int64) string {
	if i == 0 {
		return "a face names vertex 0 but vertices count from 1"
	}
	return fmt.Sprintf("a face names vertex %d but %d have been read", i, n)
}
