package meshio

import (
	"encoding/xml"
	"errors"
	"io"
	"strconv"
	"strings"

	"crownassay/geom"
)

// mfReader reads one model part as a stream of XML elements.
type mfReader struct {
	path   string
	xml    *xml.Decoder
	model  *mfModel
	object *mfObject // the one being read
}

// run reads to the end of the part.
func (d *mfReader) run() error {
	for {
		t, err := d.xml.Token()
		if errors.Is(err, io.EOF) {
			return d.check()
		}
		if err != nil {
			return err
		}
		switch e := t.(type) {
		case xml.StartElement:
			err = d.start(&e)
		case xml.EndElement:
			err = d.end(e.Name.Local)
		}
		if err != nil {
			return err
		}
	}
}

// fail makes an error at the current line.
func (d *mfReader) fail(format string, args ...any) error {
	line, _ := d.xml.InputPos()
	return atLine(d.path, line, hintAgain, format, args...)
}

// check refuses XML that is no model.
func (d *mfReader) check() error {
	if d.model.unit == 0 {
		return d.fail("the part has no model in it")
	}
	return nil
}

// start reads what an element's first tag says.
func (d *mfReader) start(e *xml.StartElement) error {
	switch e.Name.Local {
	case "model":
		return d.setUnit(attr(e, "unit"))
	case "object":
		return d.addObject(e)
	case "item":
		it, err := d.item(e)
		d.model.build = append(d.model.build, it)
		return err
	}
	if d.object == nil {
		return nil
	}
	switch e.Name.Local {
	case "vertex":
		return d.vertex(e)
	case "triangle":
		return d.triangle(e)
	case "component":
		it, err := d.item(e)
		d.object.component = append(d.object.component, it)
		return err
	}
	return nil
}

// end closes an object and holds its triangles against its vertices.
func (d *mfReader) end(name string) error {
	if name != "object" || d.object == nil {
		return nil
	}
	n := int32(len(d.object.v))
	for i, t := range d.object.f {
		if max(t[0], t[1], t[2]) >= n {
			return d.fail("triangle %d names vertex %d; there are vertices 0 to %d", i, max(t[0], t[1], t[2]), n-1)
		}
	}
	d.object = nil
	return nil
}

func (d *mfReader) setUnit(name string) error {
	if name == "" {
		name = "millimeter" // the default by the specification
	}
	d.model.unit = mfUnits[name]
	if d.model.unit == 0 {
		return d.fail("the unit %s is not one of a 3MF", quote([]byte(name)))
	}
	return nil
}

func (d *mfReader) addObject(e *xml.StartElement) error {
	id, kind := attr(e, "id"), attr(e, "type")
	if d.model.object[id] != nil {
		return d.fail("there are two objects %s", quote([]byte(id)))
	}
	d.object = &mfObject{support: kind == "support" || kind == "other"}
	d.model.object[id] = d.object
	d.model.order = append(d.model.order, id)
	return nil
}

// item reads an item of the build or a component.
func (d *mfReader) item(e *xml.StartElement) (mfItem, error) {
	it := mfItem{mfKey: mfKey{d.model.part, attr(e, "objectid")}, move: still()}
	it.line, _ = d.xml.InputPos()
	if p := attr(e, "path"); p != "" { // Production Extension
		it.part = partName(p)
	}
	t := attr(e, "transform")
	if t == "" {
		return it, nil
	}
	var err error
	it.move, err = d.transform(t)
	return it, err
}

// transform reads twelve numbers, row by row.
func (d *mfReader) transform(s string) (t mfTransform, err error) {
	w := strings.Fields(s)
	if len(w) != 12 {
		return t, d.fail("a transform has %d numbers where 12 are needed", len(w))
	}
	var x [12]float64
	for i := range x {
		if x[i], err = d.number(w[i]); err != nil {
			return t, err
		}
	}
	for i := range t {
		t[i] = geom.V(x[3*i], x[3*i+1], x[3*i+2])
	}
	return t, nil
}

func (d *mfReader) vertex(e *xml.StartElement) error {
	var x [3]float64
	for k, name := range [...]string{"x", "y", "z"} {
		var err error
		if x[k], err = d.number(attr(e, name)); err != nil {
			return err
		}
	}
	d.object.v = append(d.object.v, geom.V(x[0], x[1], x[2]))
	return nil
}

func (d *mfReader) triangle(e *xml.StartElement) error {
	var t [3]int32
	for k, name := range [...]string{"v1", "v2", "v3"} {
		i, err := strconv.ParseInt(attr(e, name), 10, 32)
		if err != nil || i < 0 {
			return d.fail("triangle %d has %s for %s", len(d.object.f), quote([]byte(attr(e, name))), name)
		}
		t[k] = int32(i)
	}
	d.object.f = append(d.object.f, t)
	return nil
}

// number reads a finite number.
func (d *mfReader) number(s string) (float64, error) {
	x, err := strconv.ParseFloat(strings.TrimSpace(s), 64)
	if err != nil || !finite(x) {
		return 0, d.fail("%s is not a finite number", quote([]byte(s)))
	}
	return x, nil
}

// attr returns an attribute by its local name, "" if it is not there.
func attr(e *xml.StartElement, name string) string {
	for _, a := range e.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}
