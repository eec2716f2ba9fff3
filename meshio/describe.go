package meshio

import "crownassay/mesh"

// Description says what is in one mesh file. Box, area and volume are in the
// file's own unit, which Unit names; the JSON names are a contract.
type Description struct {
	Format    string        `json:"format"`
	Triangles int           `json:"triangles"`
	Vertices  int           `json:"vertices"` // after welding
	Shells    int           `json:"shells"`
	Closed    bool          `json:"closed"`
	Borders   int           `json:"borders"` // border loops
	Box       [2][3]float64 `json:"box"`
	Area      float64       `json:"area"`
	Volume    float64       `json:"volume"` // 0 unless closed; negative if inside out
	Unit      string        `json:"unit"`   // um, mm, cm, m, in, ft, or empty if not known
	Defects   []mesh.Defect `json:"defects"`
	Notes     []string      `json:"notes"` // how the unit was found, what reading noticed
}

// Describe reads the file at path and says what is in it. Errors are those of
// Read.
func Describe(path string) (*Description, error) {
	f, err := Read(path)
	if err != nil {
		return nil, err
	}
	return f.Describe(), nil
}

// Describe says what is in a file that was read.
func (f *File) Describe() *Description {
	m, a := f.Mesh, mesh.Adjacent(f.Mesh)
	box := m.Box()
	_, shells := mesh.Shells(m, a)
	d := &Description{
		Format: f.Format, Triangles: len(m.F), Vertices: len(m.V),
		Shells: shells, Closed: mesh.Closed(m, a), Borders: len(a.BorderLoops()),
		Box:  [2][3]float64{{box.Min.X, box.Min.Y, box.Min.Z}, {box.Max.X, box.Max.Y, box.Max.Z}},
		Area: m.Area(), Defects: mesh.Defects(m, a),
	}
	var how []string
	d.Unit, how = inferUnit(f, box)
	d.Notes = append(how, f.Notes...)
	if d.Closed {
		d.Volume = volume(m, a)
	}
	return d
}

// volume is that of a closed mesh as it stands; if its facets do not run the
// same way it is that of the repaired mesh, since the sum means nothing then.
func volume(m *mesh.Mesh, a *mesh.Adjacency) float64 {
	for _, o := range a.Opposite {
		if o == mesh.Flipped {
			m, _ = mesh.Oriented(m)
			break
		}
	}
	return m.Volume()
}
