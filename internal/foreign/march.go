package foreign

import (
	"math"

	"crownassay/geom"
	"crownassay/mesh"
)

// corners of a cube by bits x, y, z; sixTets divides it along its diagonal.
var sixTets = [6][4]int{{0, 1, 3, 7}, {0, 3, 2, 7}, {0, 2, 6, 7}, {0, 6, 4, 7}, {0, 4, 5, 7}, {0, 5, 1, 7}}

// marcher walks a grid that is turned against the solid, so that no facet
// lies in a plane of symmetry.
type marcher struct {
	f     Field
	pose  geom.Rigid // grid to solid
	low   geom.Vec
	step  float64
	n     [3]int
	value []float64
	at    map[[2]int]int32
	out   *mesh.Mesh
}

// March cuts the zero of a field inside a box into facets by marching
// tetrahedra on a grid of the given step; every vertex lies on the zero. What
// reaches the box's walls stays open there.
func March(f Field, box geom.Box, step float64) *mesh.Mesh {
	m := marcher{f: f, step: step, at: map[[2]int]int32{}, out: &mesh.Mesh{}}
	m.pose = geom.Rigid{R: geom.RotationAbout(geom.V(0.3, -0.5, 0.81), 0.37), T: box.Center()}
	m.fit(box)
	m.sample(box)
	for k := range m.n[2] - 1 {
		for j := range m.n[1] - 1 {
			for i := range m.n[0] - 1 {
				m.cube(i, j, k)
			}
		}
	}
	return within(m.out, box)
}

// fit lays the grid around the turned box.
func (m *marcher) fit(box geom.Box) {
	b, back := geom.EmptyBox(), m.pose.Inverse()
	for c := range 8 {
		p := box.Min
		if c&1 != 0 {
			p.X = box.Max.X
		}
		if c&2 != 0 {
			p.Y = box.Max.Y
		}
		if c&4 != 0 {
			p.Z = box.Max.Z
		}
		b = b.Include(back.Apply(p))
	}
	s := b.Size()
	m.low = b.Min
	m.n = [3]int{int(s.X/m.step) + 2, int(s.Y/m.step) + 2, int(s.Z/m.step) + 2}
}

func (m *marcher) index(i, j, k int) int { return (k*m.n[1]+j)*m.n[0] + i }

func (m *marcher) node(x int) geom.Vec {
	i, j, k := x%m.n[0], x/m.n[0]%m.n[1], x/m.n[0]/m.n[1]
	return m.pose.Apply(m.low.Add(geom.V(float64(i), float64(j), float64(k)).Mul(m.step)))
}

// block is how many nodes a side are skipped together where the solid's
// surface is far, and steep how fast a field may change at most per mm.
const (
	block = 6
	steep = 2.5
)

// sample fills the nodes in and near the box and the surface; others are NaN.
func (m *marcher) sample(box geom.Box) {
	m.value = make([]float64, m.n[0]*m.n[1]*m.n[2])
	for x := range m.value {
		m.value[x] = math.NaN()
	}
	far := steep * m.step * (block/2 + 1) * math.Sqrt(3)
	for k := 0; k < m.n[2]; k += block {
		for j := 0; j < m.n[1]; j += block {
			for i := 0; i < m.n[0]; i += block {
				mid := m.low.Add(geom.V(float64(i)+block/2, float64(j)+block/2, float64(k)+block/2).Mul(m.step))
				p := m.pose.Apply(mid)
				if box.DistSq(p) < far*far && math.Abs(m.f(p)) < far {
					m.fill(i, j, k)
				}
			}
		}
	}
}

// fill samples one block, with the first nodes of the next.
func (m *marcher) fill(i0, j0, k0 int) {
	for k := k0; k <= k0+block && k < m.n[2]; k++ {
		for j := j0; j <= j0+block && j < m.n[1]; j++ {
			for i := i0; i <= i0+block && i < m.n[0]; i++ {
				if x := m.index(i, j, k); math.IsNaN(m.value[x]) {
					m.value[x] = m.f(m.node(x))
				}
			}
		}
	}
}

func (m *marcher) cube(i, j, k int) {
	var c [8]int
	neg := 0
	for b := range c {
		c[b] = m.index(i+b&1, j+b>>1&1, k+b>>2)
		v := m.value[c[b]]
		if math.IsNaN(v) {
			return
		}
		if v < 0 {
			neg++
		}
	}
	if neg == 0 || neg == 8 {
		return
	}
	for _, t := range sixTets {
		m.tet([4]int{c[t[0]], c[t[1]], c[t[2]], c[t[3]]})
	}
}

func (m *marcher) tet(t [4]int) {
	var in, out []int
	for _, x := range t {
		if m.value[x] < 0 {
			in = append(in, x)
		} else {
			out = append(out, x)
		}
	}
	switch len(in) {
	case 1:
		m.put(m.cross(in[0], out[0]), m.cross(in[0], out[1]), m.cross(in[0], out[2]), in[0])
	case 3:
		m.put(m.cross(in[0], out[0]), m.cross(in[1], out[0]), m.cross(in[2], out[0]), in[0])
	case 2:
		a, b := m.cross(in[0], out[0]), m.cross(in[0], out[1])
		c, d := m.cross(in[1], out[1]), m.cross(in[1], out[0])
		m.put(a, b, c, in[0])
		m.put(a, c, d, in[1])
	}
}

// put adds a facet that has node in behind it.
func (m *marcher) put(a, b, c int32, in int) {
	if a == b || b == c || c == a {
		return
	}
	v := m.out.V
	n := v[b].Sub(v[a]).Cross(v[c].Sub(v[a]))
	if n.Dot(m.node(in).Sub(v[a])) > 0 {
		b, c = c, b
	}
	m.out.F = append(m.out.F, [3]int32{a, b, c})
}

// cross finds the zero between two nodes by halving.
func (m *marcher) cross(in, out int) int32 {
	key := [2]int{min(in, out), max(in, out)}
	if i, ok := m.at[key]; ok {
		return i
	}
	a, b := m.node(in), m.node(out)
	for range 14 {
		mid := a.Lerp(b, 0.5)
		if m.f(mid) < 0 {
			a = mid
		} else {
			b = mid
		}
	}
	i := int32(len(m.out.V))
	m.out.V = append(m.out.V, a.Lerp(b, 0.5))
	m.at[key] = i
	return i
}

// within keeps the facets whose middle is in the box.
func within(m *mesh.Mesh, box geom.Box) *mesh.Mesh {
	return Keep(m, func(p, _ geom.Vec) bool { return box.DistSq(p) == 0 })
}

// Keep returns the facets whose middle and unit normal pass.
func Keep(m *mesh.Mesh, pass func(middle, normal geom.Vec) bool) *mesh.Mesh {
	out := &mesh.Mesh{V: m.V}
	for f := range m.F {
		a, b, c := m.Corner(int32(f))
		n := b.Sub(a).Cross(c.Sub(a))
		if n.NormSq() > 0 && pass(a.Add(b).Add(c).Mul(1.0/3), n.Unit()) {
			out.F = append(out.F, m.F[f])
		}
	}
	return packed(out)
}

// packed leaves out the vertices that no facet uses.
func packed(m *mesh.Mesh) *mesh.Mesh {
	name := make([]int32, len(m.V))
	out := &mesh.Mesh{F: make([][3]int32, len(m.F))}
	for i, t := range m.F {
		for k, v := range t {
			if name[v] == 0 {
				out.V = append(out.V, m.V[v])
				name[v] = int32(len(out.V))
			}
			out.F[i][k] = name[v] - 1
		}
	}
	return out
}
