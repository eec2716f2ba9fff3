package align

import (
	"crownassay/geom"
	"crownassay/mesh"
)

// points are what is brought onto the fixed surface: places, unit normals and
// weights, in the frame of the moving surface.
type points struct {
	p, n []geom.Vec
	w    []float64 // weight in the registration
	area []float64 // mm^2, times the weight of the region
}

func newPoints(n int) *points {
	return &points{make([]geom.Vec, 0, n), make([]geom.Vec, 0, n), make([]float64, 0, n), make([]float64, 0, n)}
}

func (s *points) add(p, n geom.Vec, w, area float64) {
	s.p, s.n, s.w, s.area = append(s.p, p), append(s.n, n), append(s.w, w), append(s.area, area)
}

// pointsOfSamples takes about most of the samples, evenly by index.
func pointsOfSamples(s []sample, most int) *points {
	n := min(most, len(s))
	out := newPoints(n)
	for k := range n {
		i := k * len(s) / n
		out.add(s[i].p, s[i].n, s[i].area, s[i].area)
	}
	return out
}

// dense is how many times smaller than usual a vertex's area may be before its
// weight falls. Below that every vertex counts alike, since each has noise of
// its own; but a part that was cut much finer must not outweigh all others.
const dense = 4.0

// pointsOfVertices takes the vertices that facets name and the region holds.
func pointsOfVertices(m *mesh.Mesh, weight []float64) *points {
	normal, area := vertexAreas(m)
	usual := usualArea(area)
	out := newPoints(len(m.V))
	for v, p := range m.V {
		w := 1.0
		if weight != nil {
			w = weight[v]
		}
		if l := normal[v].Norm(); w > 0 && l > 0 {
			out.add(p, normal[v].Mul(1/l), w*min(1, dense*area[v]/usual), w*area[v])
		}
	}
	return out
}

// vertexAreas returns for every vertex the sum of its facets' normals by area
// and a third of their area.
func vertexAreas(m *mesh.Mesh) (normal []geom.Vec, area []float64) {
	normal, area = make([]geom.Vec, len(m.V)), make([]float64, len(m.V))
	for f, v := range m.F {
		n := geom.TriangleNormal(m.Corner(int32(f)))
		a := n.Norm() / 6
		for _, k := range v {
			normal[k], area[k] = normal[k].Add(n), area[k]+a
		}
	}
	return normal, area
}

// usualArea is the vertices' mean area, each counted by its area.
func usualArea(area []float64) float64 {
	sum, sq := 0.0, 0.0
	for _, a := range area {
		sum, sq = sum+a, sq+float64(a*a)
	}
	return sq / sum
}

// thinned takes about n of the points, by a scramble of their index, so that
// no pattern of the numbering is followed; all of them if there are no more.
func (s *points) thinned(n int) *points {
	if len(s.p) <= n {
		return s
	}
	out := newPoints(n + n/8)
	limit := uint64(float64(n) / float64(len(s.p)) * (1 << 32))
	for i := range s.p {
		if scramble(uint64(i))>>32 < limit {
			out.add(s.p[i], s.n[i], s.w[i], s.area[i])
		}
	}
	return out
}

// scramble is the finalizer of splitmix64 (G. L. Steele, D. Lea, C. H. Flood,
// Fast splittable pseudorandom number generators, OOPSLA 2014, 453-472).
func scramble(z uint64) uint64 {
	z += 0x9e3779b97f4a7c15
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// whole is the sum of all areas.
func (s *points) whole() float64 {
	sum := 0.0
	for _, a := range s.area {
		sum += a
	}
	return sum
}
