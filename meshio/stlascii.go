package meshio

import (
	"bytes"

	"crownassay/geom"
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
	v    []geom.Vec // three a facet
	open bool       // a solid without its endsolid
}

func decodeSTLASCII(data []byte, path string) (*File, error) {
	d := &stlText{text: newText(data, path)}
	for w := d.word(); w != nil; w = d.word() {
		if err := d.statement(w); err != nil {
			return nil, err
		}
	}
	file := &File{Format: STLASCII, Mesh: weld(d.v, inThrees(len(d.v)))}
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
	for range 3 {
		p, err := d.corner()
		if err != nil {
			return err
		}
		d.v = append(d.v, p)
	}
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
			return d.fail(hintAgain, "%s stands in facet %d where %q was expected", quote(w), d.current(), want)
		}
	}
	return nil
}

// current is the facet being read, from 1.
func (d *stlText) current() int { return len(d.v)/3 + 1 }

func (d *stlText) cutOff() error {
	return d.fail(hintAgain, "the file is cut off: it ends inside facet %d", d.current())
}

// corner reads one vertex.
func (d *stlText) corner() (geom.Vec, error) {
	if err := d.expect("vertex"); err != nil {
		return geom.Vec{}, err
	}
	var x [3]float64
	for k := range x {
		w := d.word()
		if w == nil {
			return geom.Vec{}, d.cutOff()
		}
		v, err := d.parse(w)
		if err != nil {
			return geom.Vec{}, err
		}
		x[k] = v
	}
	return geom.V(x[0], x[1], x[2]), nil
}

// inThrees makes facets of every three of n vertices.
func inThrees(n int) [][3]int32 {
	f := make([][3]int32, n/3)
	for i := range f {
		k := int32(3 * i)
		f[i] = [3]int32{k, k + 1, k + 2}
	}
	return f
}
