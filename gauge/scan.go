package gauge

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"math"
	"math/rand/v2"
	"path/filepath"

	"crownassay/bvh"
	"crownassay/geom"
	"crownassay/mesh"
	"crownassay/meshio"
)

// scan is one scan with what its surface looks like around some places.
type scan struct {
	file   string
	path   string
	sha256 string
	unit   string
	notes  []string
	m      *mesh.Mesh
	tree   *bvh.Tree
	normal []geom.Vec // of the vertices
	some   []place
}

// place is a vertex with the normal of what lies around it.
type place struct{ p, n geom.Vec }

const (
	// places is how many vertices are looked at to find the body; more only takes
	// time.
	places = 1500
	// smoothReach is the radius, mm, over which normals are averaged to find the
	// body: scan noise of 20 um turns a single facet of 0.1 mm by 10 degrees, the mean
	// over this by less than one.
	smoothReach = 0.4
	// sameSide is the largest angle, degrees, between the normals of a scan and
	// of the shape where they are one surface.
	sameSide = 30.0
)

// loadScan reads a scan in the unit of the body's description.
func loadScan(ctx context.Context, path string, b *Body) (*scan, error) {
	data, err := meshio.Load(path)
	if err != nil {
		return nil, err
	}
	f, err := meshio.Decode(data, path)
	if err != nil {
		return nil, err
	}
	sum := sha256.Sum256(data)
	s := &scan{file: filepath.Base(path), path: path, sha256: hex.EncodeToString(sum[:]), unit: b.Units}
	by := b.scale()
	if f.UnitMM > 0 && f.UnitMM != by {
		s.notes = append(s.notes, fmt.Sprintf("%s states a unit of %g mm, which was taken", s.file, f.UnitMM))
		by, s.unit = f.UnitMM, fmt.Sprintf("%g mm", f.UnitMM)
	}
	if s.m = f.Mesh; by != 1 {
		s.m = scaled(f.Mesh, by)
	}
	if len(s.m.V) < leastVertices {
		return nil, fmt.Errorf("measure %s: the scan has only %d points; a scan of the body has thousands, export it with full detail", path, len(s.m.V))
	}
	s.m, _ = mesh.Oriented(s.m)
	if b.Kind == Mesh { // found by its whole surface, not by places
		s.normal = s.m.VertexNormals()
		return s, nil
	}
	return s, s.look(ctx)
}

// leastVertices is the least number of points of a scan that is looked at.
const leastVertices = 100

// look prepares the search.
func (s *scan) look(ctx context.Context) error {
	s.tree, s.normal = bvh.New(s.m), s.m.VertexNormals()
	rng := rand.New(rand.NewPCG(1, 2))
	var near []int32
	for range places {
		if err := ctx.Err(); err != nil {
			return err
		}
		v := rng.IntN(len(s.m.V))
		if s.normal[v] == (geom.Vec{}) {
			continue
		}
		near = s.tree.BallVertices(s.m.V[v], smoothReach, near)
		sum, at := s.normal[v], geom.Vec{}
		for _, k := range near {
			if s.normal[k].Dot(s.normal[v]) > 0 {
				sum, at = sum.Add(s.normal[k]), at.Add(s.m.V[k].Sub(s.m.V[v]))
			}
		}
		s.some = append(s.some, place{s.m.V[v].Add(at.Mul(1 / float64(max(1, len(near))))), sum.Unit()})
	}
	return nil
}

// turned is the scan seen inside out: a scanner's sheet may face either way.
func (s *scan) turned() *scan {
	t := *s
	t.normal, t.some = make([]geom.Vec, len(s.normal)), make([]place, len(s.some))
	for i, n := range s.normal {
		t.normal[i] = n.Neg()
	}
	for i, p := range s.some {
		t.some[i] = place{p.p, p.n.Neg()}
	}
	return &t
}

// form is a surface that the scan is compared with: its distance and its normal.
type form interface {
	Distance(p geom.Vec) float64
}

// outward returns the normal of a form at a place by differences.
func outward(f form, p geom.Vec) geom.Vec {
	const h = 1e-4 // mm: far below any radius, far above rounding
	d := f.Distance(p)
	return geom.V(f.Distance(p.Add(geom.V(h, 0, 0)))-d, f.Distance(p.Add(geom.V(0, h, 0)))-d, f.Distance(p.Add(geom.V(0, 0, h)))-d).Unit()
}

var cosSide = math.Cos(sameSide * math.Pi / 180)

// votes counts the places on a form, within tol, that face the same way.
func (s *scan) votes(f form, tol float64) int {
	n := 0
	for _, q := range s.some {
		if math.Abs(f.Distance(q.p)) < tol && outward(f, q.p).Dot(q.n) > cosSide {
			n++
		}
	}
	return n
}

// on returns the vertices on a form, within tol, that face the same way, and
// at most so many of them, evenly left out.
func (s *scan) on(f form, tol float64, most int) (pts []geom.Vec, of []int32) {
	for i, p := range s.m.V {
		if math.Abs(f.Distance(p)) < tol && outward(f, p).Dot(s.normal[i]) > cosSide {
			pts, of = append(pts, p), append(of, int32(i))
		}
	}
	if len(pts) <= most {
		return pts, of
	}
	step := float64(len(pts)) / float64(most)
	for k := range most {
		i := int(float64(k) * step)
		pts[k], of[k] = pts[i], of[i]
	}
	return pts[:most], of[:most]
}

// count counts the vertices on a form as on finds them.
func (s *scan) count(f form, tol float64) int {
	n := 0
	for i, p := range s.m.V {
		if math.Abs(f.Distance(p)) < tol && outward(f, p).Dot(s.normal[i]) > cosSide {
			n++
		}
	}
	return n
}

// mostPoints is the number of points beyond which more do not help a fit.
const mostPoints = 60000
