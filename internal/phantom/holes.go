package phantom

import (
	"math"

	"crownassay/geom"
	"crownassay/mesh"
)

// cutHoles removes the facets of the defects without data and says what went.
func (m *model) cutHoles(mm *mesh.Mesh, list []Defect) []HoleTruth {
	var out []HoleTruth
	for _, d := range list {
		if d.Kind != MissingFinish && d.Kind != Hole {
			continue
		}
		out = append(out, m.cutOne(mm, d))
	}
	return out
}

// cutOne drops every facet with a corner in the defect's patch.
func (m *model) cutOne(mm *mesh.Mesh, d Defect) HoleTruth {
	in := m.patchOf(d)
	var h HoleTruth
	var c geom.Vec
	keep := make([][3]int32, 0, len(mm.F))
	for i, f := range mm.F {
		if !in[f[0]] && !in[f[1]] && !in[f[2]] {
			keep = append(keep, f)
			continue
		}
		p, q, r := mm.Corner(int32(i))
		a := geom.TriangleArea(p, q, r)
		h.Area += a
		c = c.Add(p.Add(q).Add(r).Mul(a / 3))
	}
	mm.F = keep
	if h.Area > 0 {
		h.Center = triple(m.pose.Apply(c.Mul(1 / h.Area)))
	}
	return h
}

// patchOf marks the vertices of the prepared tooth inside the defect.
func (m *model) patchOf(d Defect) map[int32]bool {
	t := m.target
	s := t.sheet.(*prepSheet)
	mid := t.prep.point(d.Azimuth*degree, segWall+0.5)
	in := map[int32]bool{}
	for i, at := range t.at {
		inside := false
		if d.Kind == MissingFinish {
			inside = math.Abs(at.q-s.from[segRoot]) < d.Amount/2 && math.Abs(turn(at.a-d.Azimuth*degree)) < d.Extent/2*degree
		} else {
			inside = s.point(at.a, at.q).Dist(mid) < d.Amount
		}
		if inside {
			in[int32(t.first+i)] = true
		}
	}
	return in
}

// tidy drops the vertices that no facet uses.
func tidy(m *mesh.Mesh) {
	to := make([]int32, len(m.V))
	for _, f := range m.F {
		for _, k := range f {
			to[k] = 1
		}
	}
	var v []geom.Vec
	for i, used := range to {
		if used == 1 {
			to[i] = int32(len(v))
			v = append(v, m.V[i])
		}
	}
	for i, f := range m.F {
		m.F[i] = [3]int32{to[f[0]], to[f[1]], to[f[2]]}
	}
	m.V = v
}
