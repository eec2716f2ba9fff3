package align

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"crownassay/geom"
	"crownassay/mesh"
)

// MeanNormal returns the area-weighted mean of the facets' unit normals. For
// a scanned sheet it points roughly to the occlusal; for a closed surface it
// is zero, however it is turned.
func MeanNormal(m *mesh.Mesh) geom.Vec {
	var s geom.Vec
	area := 0.0
	for f := range m.F {
		n := geom.TriangleNormal(m.Corner(int32(f)))
		s, area = s.Add(n), area+n.Norm()
	}
	if area == 0 {
		return geom.Vec{}
	}
	return s.Mul(1 / area)
}

// openSheet is the length of the mean normal from which a surface is taken
// for a scanned sheet with one outer side. An arch has about 0.4, a closed
// model 0.
const openSheet = 0.12

// Occlusals returns the directions that may be the occlusal one, the likeliest
// first: the mean normal of a sheet; for a closed model the principal
// directions of its shape, both ways.
func Occlusals(m *mesh.Mesh) []geom.Vec {
	n := MeanNormal(m)
	if n.Norm() > openSheet {
		return []geom.Vec{n.Unit()}
	}
	var out []geom.Vec
	for _, d := range principal(m) {
		out = append(out, d, d.Neg())
	}
	return out
}

// principal returns the principal directions of the surface, the thinnest
// first, weighted by area.
func principal(m *mesh.Mesh) []geom.Vec {
	c, area := Centroid(m)
	if area == 0 {
		return nil
	}
	s := mat.NewSymDense(3, nil)
	for f := range m.F {
		p, q, r := m.Corner(int32(f))
		d := p.Add(q).Add(r).Mul(1.0 / 3).Sub(c)
		w := geom.TriangleArea(p, q, r)
		x := [3]float64{d.X, d.Y, d.Z}
		for i := range 3 {
			for j := i; j < 3; j++ {
				s.SetSym(i, j, s.At(i, j)+w*x[i]*x[j])
			}
		}
	}
	var e mat.EigenSym
	if !e.Factorize(s, true) {
		return nil
	}
	var v mat.Dense
	e.VectorsTo(&v)
	out := make([]geom.Vec, 3)
	for k := range out {
		out[k] = geom.V(v.At(0, k), v.At(1, k), v.At(2, k)).Unit()
	}
	return out
}

// Centroid returns the centroid of the surface and its area.
func Centroid(m *mesh.Mesh) (geom.Vec, float64) {
	var s geom.Vec
	area := 0.0
	for f := range m.F {
		a, b, c := m.Corner(int32(f))
		w := geom.TriangleArea(a, b, c)
		s, area = s.Add(a.Add(b).Add(c).Mul(w/3)), area+w
	}
	if area == 0 {
		return geom.Vec{}, 0
	}
	return s.Mul(1 / area), area
}

// Facing says how two arches face each other.
type Facing struct {
	Known              bool // both are sheets and lie apart enough to tell
	PreparedInverted   bool // the prepared arch's outside points away from the opposing one
	OpposingInverted   bool
	PreparedToOpposing geom.Vec // unit direction
}

// leastApart is the distance, mm, between two arches along the occlusal
// direction from which it is plain which side each one turns to the other.
const leastApart = 1.0

// Face compares the outsides of two arches with where the other one lies.
func Face(prepared, opposing *mesh.Mesh) Facing {
	np, no := MeanNormal(prepared), MeanNormal(opposing)
	if np.Norm() < openSheet || no.Norm() < openSheet {
		return Facing{}
	}
	cp, _ := Centroid(prepared)
	co, _ := Centroid(opposing)
	axis := np.Unit().Sub(no.Unit()).Unit()
	if np.Dot(no) > 0 {
		axis = np.Add(no).Unit()
	}
	apart := co.Sub(cp).Dot(axis)
	if math.Abs(apart) < leastApart {
		return Facing{}
	}
	dir := axis
	if apart < 0 {
		dir = axis.Neg()
	}
	return Facing{Known: true, PreparedInverted: np.Dot(dir) < 0, OpposingInverted: no.Dot(dir) > 0, PreparedToOpposing: dir}
}
