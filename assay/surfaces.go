package assay

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"

	"crownassay/align"
	"crownassay/geom"
	"crownassay/internal/par"
	"crownassay/measure"
	"crownassay/mesh"
	"crownassay/meshio"
	"crownassay/record"
)

// A dental surface in millimetres is this large across its largest dimension.
// Smaller or larger ones were written in another unit.
const (
	smallest = 3.0   // mm
	largest  = 200.0 // mm
)

// loaded is a surface as read, in millimetres, consistently oriented.
type loaded struct {
	source Source
	mesh   *mesh.Mesh
	adj    *mesh.Adjacency // of the mesh; nil where it is not known: use adjacency()
	info   record.Surface
	notes  []string
	ready  *measure.Surface // of this or an earlier mesh: use surface()

	registration float64 // mm, standard uncertainty of where it was put; 0 where it was not moved
}

// load reads those of the case's surfaces whose roles are wanted, side by side.
// The error is of the first that could not be read.
func load(ctx context.Context, c *Case, wanted func(Role) bool) (map[Role]*loaded, error) {
	got := make([]*loaded, len(c.Surfaces))
	var each []func() error
	for i, s := range c.Surfaces {
		if wanted(s.Role) {
			each = append(each, func() (err error) {
				got[i], err = loadOne(ctx, c, s)
				return err
			})
		}
	}
	if err := par.Together(ctx, each...); err != nil {
		return nil, err
	}
	out := map[Role]*loaded{}
	for _, l := range got {
		if l != nil {
			out[l.source.Role] = l
		}
	}
	return out, nil
}

// arch is what the preparation is looked for on; the other surfaces may be
// read meanwhile.
func arch(r Role) bool { return r == Prepared || r == Opposing }

func notArch(r Role) bool { return !arch(r) }

func loadOne(ctx context.Context, c *Case, s Source) (*loaded, error) {
	data, err := meshio.Load(s.Path)
	if err != nil {
		return nil, err
	}
	f, err := meshio.Decode(data, s.Path)
	if err != nil {
		return nil, err
	}
	sum := sha256.Sum256(data)
	l := &loaded{source: s, info: record.Surface{Role: string(s.Role), File: s.File, SHA256: hex.EncodeToString(sum[:]), Triangles: len(f.Mesh.F), Unit: c.Unit}}
	scale := c.Scale
	if f.UnitMM > 0 {
		scale = f.UnitMM
		l.info.Unit = unitName(f.UnitMM, c.Unit)
	}
	if err := checkSize(f.Mesh, scale, s, l.info.Unit); err != nil {
		return nil, err
	}
	m := mesh.Gathered(scaled(f.Mesh, scale))
	if c.perturb != nil {
		if m, err = c.perturb(ctx, s.Role, m); err != nil {
			return nil, err
		}
	}
	a := mesh.Adjacent(m)
	m, flipped := mesh.OrientedBy(m, a)
	if l.mesh = m; flipped == 0 {
		l.adj = a
	}
	for _, n := range f.Notes {
		l.notes = append(l.notes, s.File+": "+n)
	}
	switch {
	case flipped == len(m.F):
		l.notes = append(l.notes, insideOut(s.File))
	case flipped > 0:
		l.notes = append(l.notes, fmt.Sprintf("%s: %d of %d facets looked the other way than their neighbours and were turned", s.File, flipped, len(m.F)))
	}
	return l, nil
}

// unitName names a unit that a file states.
func unitName(mm float64, otherwise string) string {
	for name, v := range map[string]float64{"um": 1e-3, "mm": 1, "cm": 10, "m": 1000, "in": 25.4} {
		if v == mm {
			return name
		}
	}
	return otherwise
}

func scaled(m *mesh.Mesh, k float64) *mesh.Mesh {
	if k == 1 {
		return m
	}
	v := make([]geom.Vec, len(m.V))
	for i, p := range m.V {
		v[i] = p.Mul(k)
	}
	return &mesh.Mesh{V: v, F: m.F}
}

// checkSize refuses a surface whose size no tooth or arch has.
func checkSize(m *mesh.Mesh, scale float64, s Source, name string) error {
	size := m.Box().Size()
	d := max(size.X, size.Y, size.Z) * scale
	if d >= smallest && d < largest {
		return nil
	}
	hint := "check that the file is a dental surface"
	if u := meshio.LikelyUnit(m.Box()); u != "" && u != name {
		hint = fmt.Sprintf("by its size it is written in %s: set units: %s in %s", u, u, CaseFile)
	}
	return fmt.Errorf("check surface %s: read as %s it is %.4g mm across, which no tooth or arch is; %s", s.Path, name, d, hint)
}

// face turns surfaces whose outside is inside, as far as the two arches show
// it, and says so.
func face(ls map[Role]*loaded) (notes []string) {
	p, o := ls[Prepared], ls[Opposing]
	if o == nil {
		return nil
	}
	f := align.Face(p.mesh, o.mesh)
	if !f.Known {
		return nil
	}
	if f.PreparedInverted {
		notes = append(notes, p.invert())
	}
	if f.OpposingInverted {
		notes = append(notes, o.invert())
	}
	return notes
}

// invert turns all facets over.
func (l *loaded) invert() string {
	l.mesh, l.adj = inverted(l.mesh), nil
	return insideOut(l.source.File)
}

func insideOut(file string) string {
	return file + ": all facets were inside out and were turned; check how the file was exported"
}

func inverted(m *mesh.Mesh) *mesh.Mesh {
	f := make([][3]int32, len(m.F))
	for i, t := range m.F {
		f[i] = [3]int32{t[0], t[2], t[1]}
	}
	return &mesh.Mesh{V: m.V, F: f}
}

// adjacency is what lies across the edges of the surface.
func (l *loaded) adjacency() *mesh.Adjacency {
	if l.adj == nil {
		l.adj = mesh.Adjacent(l.mesh)
	}
	return l.adj
}

// surface prepares a loaded surface for measuring, once; nil stays nil.
func (l *loaded) surface() *measure.Surface {
	if l == nil {
		return nil
	}
	if l.ready == nil || l.ready.Mesh != l.mesh {
		l.ready = measure.SurfaceOf(l.mesh, l.adjacency())
	}
	return l.ready
}
