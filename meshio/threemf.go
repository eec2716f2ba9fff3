package meshio

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"path"
	"strings"
)

// Bounds of a 3MF, which is a ZIP archive: how far its parts may grow when
// unpacked (XML of numbers shrinks about tenfold; a bomb a thousandfold), and
// what its components may multiply to.
const (
	maxGrowth = 200
	minRoom   = 1 << 20 // bytes that may always be unpacked
	maxPlaced = 20_000_000
	maxVisits = 100_000
)

// modelType ends the relationship type of the main model (3MF Core
// Specification 1.3, appendix E).
const modelType = "/3dmanufacturing/2013/01/3dmodel"

// mfUnits are the units of a 3MF model in millimetres.
var mfUnits = map[string]float64{
	"micron": 1e-3, "millimeter": 1, "centimeter": 10, "inch": 25.4, "foot": 304.8, "meter": 1000,
}

// mfPackage is an opened 3MF.
type mfPackage struct {
	path string
	part map[string]*zip.File // by lower-case name without leading slash
	room int64                // bytes that may still be unpacked
	read map[string]*mfModel  // models by part name
}

func decode3MF(data []byte, file string) (*File, error) {
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, nowhere(file, hintAgain, "the ZIP archive is damaged or cut off (%v)", err)
	}
	p := &mfPackage{path: file, part: map[string]*zip.File{}, read: map[string]*mfModel{},
		room: minRoom + maxGrowth*int64(len(data))}
	for _, f := range z.File {
		p.part[partName(f.Name)] = f
	}
	root, err := p.root()
	if err != nil {
		return nil, err
	}
	m, err := p.model(root)
	if err != nil {
		return nil, err
	}
	return p.assemble(m)
}

// partName is the form in which parts are looked up.
func partName(name string) string {
	return strings.ToLower(strings.TrimPrefix(path.Clean("/"+strings.ReplaceAll(name, `\`, "/")), "/"))
}

// root finds the main model: the target of the 3dmodel relationship.
func (p *mfPackage) root() (string, error) {
	var rels struct {
		Relationship []struct {
			Target string `xml:"Target,attr"`
			Type   string `xml:"Type,attr"`
		}
	}
	f := p.part["_rels/.rels"]
	if f == nil {
		return "", &UnsupportedError{p.path, "this is a ZIP archive but not a 3MF", "unpack it and name the mesh file in it"}
	}
	r, err := p.open(f)
	if err != nil {
		return "", err
	}
	defer r.Close()
	if err := xml.NewDecoder(r).Decode(&rels); err != nil {
		return "", p.damaged(f.Name, err)
	}
	for _, rel := range rels.Relationship {
		if strings.HasSuffix(rel.Type, modelType) {
			return partName(rel.Target), nil
		}
	}
	return "", &UnsupportedError{p.path, "this is a package without a 3D model", hintExport}
}

// model reads a model part once.
func (p *mfPackage) model(name string) (*mfModel, error) {
	if m := p.read[name]; m != nil {
		return m, nil
	}
	f := p.part[name]
	if f == nil {
		return nil, nowhere(p.path, hintAgain, "the package lacks its part %q", name)
	}
	r, err := p.open(f)
	if err != nil {
		return nil, err
	}
	defer r.Close()
	d := &mfReader{path: p.path + " (" + f.Name + ")", xml: xml.NewDecoder(r), model: newModel(name)}
	if err := d.run(); err != nil {
		return nil, p.explain(f.Name, err)
	}
	p.read[name] = d.model
	return d.model, nil
}

// open unpacks a part within the room that is left.
func (p *mfPackage) open(f *zip.File) (io.ReadCloser, error) {
	r, err := f.Open()
	if err != nil {
		return nil, p.damaged(f.Name, err)
	}
	return &bounded{r, &p.room}, nil
}

// explain leaves our own errors alone and turns others into a FormatError.
func (p *mfPackage) explain(part string, err error) error {
	var fe *FormatError
	var ue *UnsupportedError
	if errors.As(err, &fe) || errors.As(err, &ue) {
		return err
	}
	return p.damaged(part, err)
}

func (p *mfPackage) damaged(part string, err error) error {
	var syntax *xml.SyntaxError
	if errors.As(err, &syntax) {
		return atLine(p.path+" ("+part+")", syntax.Line, hintAgain, "the XML is damaged: %s", syntax.Msg)
	}
	if errors.Is(err, errRoom) {
		return nowhere(p.path, "do not trust this file", "the part %q unpacks to far more than a model needs", part)
	}
	return nowhere(p.path, hintAgain, "the part %q cannot be unpacked (%v)", part, err)
}

var errRoom = errors.New("more bytes than allowed")

// bounded reads until the room is used up.
type bounded struct {
	io.ReadCloser
	room *int64
}

func (b *bounded) Read(p []byte) (int, error) {
	if *b.room <= 0 {
		return 0, errRoom
	}
	n, err := b.ReadCloser.Read(p[:min(int64(len(p)), *b.room)])
	*b.room -= int64(n)
	return n, err
}

// assemble places what the build asks for.
func (p *mfPackage) assemble(m *mfModel) (*File, error) {
	a := &mfAssembly{p: p, active: map[mfKey]bool{}}
	items := m.build
	file := &File{Format: ThreeMF, UnitMM: m.unit}
	if len(items) == 0 {
		items = m.everything()
		file.Notes = append(file.Notes, "the build is empty; all objects were read where they stand")
	}
	for _, it := range items {
		if err := a.place(it, still()); err != nil {
			return nil, err
		}
	}
	if a.support > 0 {
		file.Notes = append(file.Notes, fmt.Sprintf("%d support objects were left out", a.support))
	}
	file.Mesh = weld(a.v, a.f)
	return file, nil
}
