package mesh

import (
	"slices"

	"crownassay/geom"
)

// Oriented returns the mesh with the facets of each piece running the same
// way, and how many facets were turned. A piece here is what hangs together
// across edges of two facets. The majority of a piece keeps its direction (the
// lowest facet decides a tie); a closed piece is then turned outward, to
// positive volume, so the wall of a cavity counts as a body of its own. A
// piece that has no two sides, like a Moebius strip, keeps a seam of flipped
// edges. Vertices are shared with m; if nothing is turned, m itself comes back.
func Oriented(m *Mesh) (out *Mesh, flipped int) { return OrientedBy(m, Adjacent(m)) }

// OrientedBy is Oriented for a mesh whose adjacency is known. It stays true
// where no facet was turned.
func OrientedBy(m *Mesh, a *Adjacency) (out *Mesh, flipped int) {
	p := orient(m, a)
	p.turnOutward(m, a)
	return turned(m, p.turn)
}

// orientation is what orient finds: for each facet its piece and whether it
// is to be turned.
type orientation struct {
	label []int32
	count int
	turn  []bool
}

// orient finds the facets that run against the majority of their piece.
func orient(m *Mesh, a *Adjacency) *orientation {
	label, count := patches(m, a)
	p := &orientation{label: label, count: count, turn: make([]bool, len(m.F))}
	if !slices.Contains(a.Opposite, Flipped) {
		return p // no two facets disagree
	}
	seen := make([]bool, len(m.F))
	var part []int32
	for f := range m.F {
		if seen[f] || label[f] < 0 {
			continue
		}
		part = p.carry(a, int32(f), seen, part[:0])
		p.keepMajority(part)
	}
	return p
}

// carry takes the direction of facet f to all facets of its piece, breadth
// first, and returns them.
func (p *orientation) carry(a *Adjacency, f int32, seen []bool, part []int32) []int32 {
	seen[f] = true
	part = append(part, f)
	for i := 0; i < len(part); i++ {
		g := part[i]
		for h := 3 * g; h < 3*g+3; h++ {
			o := a.Opposite[h]
			if o < 0 && o != Flipped {
				continue
			}
			n := a.Around[h] / 3
			if !seen[n] {
				seen[n] = true
				p.turn[n] = p.turn[g] != (o == Flipped)
				part = append(part, n)
			}
		}
	}
	return part
}

// keepMajority turns the smaller side of a piece; part[0] is its lowest facet
// and is not turned on a tie.
func (p *orientation) keepMajority(part []int32) {
	n := 0
	for _, f := range part {
		if p.turn[f] {
			n++
		}
	}
	if 2*n <= len(part) {
		return
	}
	for _, f := range part {
		p.turn[f] = !p.turn[f]
	}
}

// turnOutward turns the closed pieces whose volume is negative.
func (p *orientation) turnOutward(m *Mesh, a *Adjacency) {
	inward := p.inward(m, a)
	for f, l := range p.label {
		if l >= 0 && inward[l] {
			p.turn[f] = !p.turn[f]
		}
	}
}

// inward says for each piece whether it is closed, two-sided and, with its
// facets turned as found, of negative volume.
func (p *orientation) inward(m *Mesh, a *Adjacency) []bool {
	open, volume := p.open(a), p.volumes(m)
	inward := make([]bool, p.count)
	for l := range inward {
		inward[l] = !open[l] && volume[l] < 0
	}
	return inward
}

// open says for each piece whether it has a border of its own or a seam. At
// an edge of more than two facets a piece is closed if an even number is its own.
func (p *orientation) open(a *Adjacency) []bool {
	open, odd := p.seams(a), make([]bool, p.count)
	for h, o := range a.Opposite {
		switch o {
		case Border:
			open[p.label[h/3]] = true
		case NonManifold:
			if a.last(int32(h)) {
				p.openAt(a, int32(h), open, odd)
			}
		}
	}
	return open
}

// seams says for each piece whether two of its facets still disagree.
func (p *orientation) seams(a *Adjacency) []bool {
	seams := make([]bool, p.count)
	for h, o := range a.Opposite {
		if (o >= 0 || o == Flipped) && p.seam(a, int32(h)) {
			seams[p.label[h/3]] = true
		}
	}
	return seams
}

// openAt marks the pieces that have an odd number of facets at the edge of h;
// odd is scratch by piece, all false before and after.
func (p *orientation) openAt(a *Adjacency, h int32, open, odd []bool) {
	ring := a.ring(h)
	for _, g := range ring {
		odd[p.label[g/3]] = !odd[p.label[g/3]]
	}
	for _, g := range ring {
		l := p.label[g/3]
		open[l] = open[l] || odd[l]
		odd[l] = false
	}
}

// seam reports whether the two facets at h still disagree after turning.
func (p *orientation) seam(a *Adjacency, h int32) bool {
	differ := p.turn[h/3] != p.turn[a.Around[h]/3]
	return differ != (a.Opposite[h] == Flipped)
}

// volumes sums the signed volume of each piece with its facets turned as found.
func (p *orientation) volumes(m *Mesh) []float64 {
	volume := make([]float64, p.count)
	o := m.Box().Center()
	for f, l := range p.label {
		if l < 0 {
			continue
		}
		v := cone(m, int32(f), o)
		if p.turn[f] {
			v = -v
		}
		volume[l] += v
	}
	return volume
}

// cone returns six times the signed volume between facet f and point o.
func cone(m *Mesh, f int32, o geom.Vec) float64 {
	a, b, c := m.Corner(f)
	return a.Sub(o).Dot(b.Sub(o).Cross(c.Sub(o)))
}

// turned returns the mesh with the marked facets reversed and their number.
func turned(m *Mesh, turn []bool) (*Mesh, int) {
	n := 0
	for _, t := range turn {
		if t {
			n++
		}
	}
	if n == 0 {
		return m, 0
	}
	out := &Mesh{V: m.V, F: make([][3]int32, len(m.F))}
	for f, t := range m.F {
		if turn[f] {
			t[1], t[2] = t[2], t[1]
		}
		out.F[f] = t
	}
	return out, n
}
