package meshio

import (
	"bytes"
	"math"

	"crownassay/geom"
	"crownassay/mesh"
)

// stlText reads an ASCII STL: any number of
//
//	solid NAME
//	  facet normal x y z  outer loop  vertex x y z (three times)  endloop  endfacet
//	endsolid NAME
//
// in capitals or not, whatever the line breaks within a facet. Normals are
// passed over, since the order of the corners says the same.
type stlText struct {
	*text
	weld *welder[uint64]
	v    []geom.Vec
	f    [][3]int32
	open bool // a solid without its endsolid
}

func decodeSTLASCII(data []byte, path string) (*File, error) {
	d := &stlText{text: newText(data, path), weld: newWelder[uint64](64)}
	for w := d.word(); w != nil; w = d.word() {
		if err := d.statement(w); err != nil {
			return nil, err
		}
	}
	file := &File{Format: STLASCII, Mesh: &mesh.Mesh{V: d.v, F: d.f}}
	if d.open {
		file.Notes = append(file.Notes, "the closing endsolid is missing; the file may be cut off")
	}
	return file, nil
}

// statement reads what the word w between facets begins.
func (d *stlText) statement(w []byte) error {
	switch {
	case is(w, "solid"), is(w, "endsolid"):
		d.open = is(w, "solid")
		d.rest()
		return nil
	case is(w, "facet"):
		return d.facet()
	}
	return d.fail(hintAgain, "%s stands where a facet or endsolid was expected", quote(w))
}

func is(w []byte, word string) bool { return bytes.EqualFold(w, []byte(word)) }

// facet reads a facet from after its first word.
func (d *stlText) facet() error {
	if err := d.expect("normal"); err != nil {
		return err
	}
	for range 3 { // some programs write nan for the normal of a sliver
		if d.word() == nil {
			return d.cutOff()
		}
	}
	if err := d.expect("outer", "loop"); err != nil {
		return err
	}
	var t [3]int32
	for k := range t {
		var err error
		if t[k], err = d.corner(); err != nil {
			return err
		}
	}
	d.f = append(d.f, t)
	return d.expect("endloop", "endfacet")
}

// expect reads the given words.
func (d *stlText) expect(words ...string) error {
	for _, want := range words {
		w := d.word()
		if w == nil {
			return d.cutOff()
		}
		if !is(w, want) {
			return d.fail(hintAgain, "%s stands in facet %d where %q was expected", quote(w), len(d.f)+1, want)
		}
	}
	return nil
}

func (d *stlText) cutOff() error {
	return d.fail(hintAgain, "the file is cut off: it ends inside facet %d", len(d.f)+1)
}

// corner reads one vertex and returns its number.
func (d *stlText) corner() (int32, error) {
	if err := d.expect("vertex"); err != nil {
		return 0, err
	}
	var x [3]float64
	for k := range x {
		w := d.word()
		if w == nil {
			return 0, d.cutOff()
		}
		v, err := d.parse(w)
		if err != nil {
			return 0, err
		}
		x[k] = v + 0 // -0 + 0 = +0
	}
	i := d.weld.number([3]uint64{math.Float64bits(x[0]), math.Float64bits(x[1]), math.Float64bits(x[2])})
	if int(i) == len(d.v) {
		d.v = append(d.v, geom.V(x[0], x[1], x[2]))
	}
	return i, nil
}
