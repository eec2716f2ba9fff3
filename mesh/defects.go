package mesh

import (
	"math"
	"slices"

	"crownassay/geom"
)

// The kinds of defect.
const (
	DegenerateFacets = "degenerate-facets"    // no area: a corner named twice, or corners in a line
	DuplicateFacets  = "duplicate-facets"     // the same three vertices as an earlier facet, either way
	NonManifoldEdges = "non-manifold-edges"   // more than two facets; counted by edge
	FlippedFacets    = "flipped-facets"       // run against the majority of their piece
	OneSided         = "one-sided-pieces"     // no consistent direction exists (Moebius strip)
	InsideOut        = "inside-out-pieces"    // closed, but facing inward (or the wall of a cavity)
	UnusedVertices   = "unused-vertices"      // no facet names them
	SelfCrossing     = "self-crossing-facets" // pass through others that they share no vertex with; package bvh finds them
)

// Defect is one kind of fault found in a mesh.
type Defect struct {
	Kind  string `json:"kind"`
	Count int    `json:"count"`
	First int    `json:"first"` // lowest facet concerned; for unused vertices the lowest vertex
}

// flatRel is the height of a facet, as a part of the largest coordinate, below
// which its corners count as lying in a line. Origin: files hold coordinates as
// float32, each rounded by up to 2^-24 of itself, so three points of a line
// leave a height of up to about 2 x 2^-24; twice that is allowed. At 50 mm it
// is 12 nm. Too large and fine facets are called flat; too small and rounded
// slivers, whose normal is noise, go unseen.
const flatRel = 4.0 / (1 << 24)

// Defects lists what is wrong with the mesh, in the order of the kinds above;
// kinds that do not occur are left out, and self-crossings, which need a tree.
// Never nil.
func Defects(m *Mesh, a *Adjacency) []Defect {
	p := orient(m, a)
	all := []Defect{
		degenerate(m),
		duplicates(m, a),
		manyFacets(a),
		against(p, a),
		oneSided(p, a),
		insideOut(m, p, a),
		unused(m),
	}
	return slices.DeleteFunc(all, func(d Defect) bool { return d.Count == 0 })
}

// add counts one more at index i.
func (d *Defect) add(i int) {
	if d.Count == 0 || i < d.First {
		d.First = i
	}
	d.Count++
}

func degenerate(m *Mesh) Defect {
	d := Defect{Kind: DegenerateFacets}
	flat := flatRel * reach(m)
	for f, t := range m.F {
		a, b, c := m.Corner(int32(f))
		if collapsed(t) || flatter(a, b, c, flat) {
			d.add(f)
		}
	}
	return d
}

// flatter reports whether the height of abc over its longest side is at most h.
func flatter(a, b, c geom.Vec, h float64) bool {
	longSq := max(a.DistSq(b), b.DistSq(c), c.DistSq(a))
	return geom.TriangleNormal(a, b, c).NormSq() <= float64(h*h)*longSq
}

// reach is the largest absolute coordinate.
func reach(m *Mesh) float64 {
	r := 0.0
	for _, v := range m.V {
		r = max(r, math.Abs(v.X), math.Abs(v.Y), math.Abs(v.Z))
	}
	return r
}

func duplicates(m *Mesh, a *Adjacency) Defect {
	d := Defect{Kind: DuplicateFacets}
	seen := map[[3]int32]bool{}
	for f, t := range m.F {
		h := int32(3 * f)
		if a.Around[h] == h || a.Opposite[h] != NonManifold && !sameCorners(t, m.F[a.Around[h]/3]) {
			continue
		}
		key := sorted(t)
		if seen[key] {
			d.add(f)
		}
		seen[key] = true
	}
	return d
}

func sameCorners(s, t [3]int32) bool { return sorted(s) == sorted(t) }

func sorted(t [3]int32) [3]int32 {
	lo, hi := min(t[0], t[1], t[2]), max(t[0], t[1], t[2])
	return [3]int32{lo, t[0] + t[1] + t[2] - lo - hi, hi}
}

func manyFacets(a *Adjacency) Defect {
	d := Defect{Kind: NonManifoldEdges}
	for h, o := range a.Opposite {
		if o == NonManifold && a.last(int32(h)) {
			d.add(int(a.Around[h]) / 3)
		}
	}
	return d
}

// against counts the turned facets; a piece without two sides has no majority.
func against(p *orientation, a *Adjacency) Defect {
	d := Defect{Kind: FlippedFacets}
	seam := p.seams(a)
	for f, turn := range p.turn {
		if turn && !seam[p.label[f]] {
			d.add(f)
		}
	}
	return d
}

func oneSided(p *orientation, a *Adjacency) Defect {
	d := Defect{Kind: OneSided}
	seam := p.seams(a)
	for f, l := range p.label {
		if l >= 0 && seam[l] {
			seam[l] = false
			d.add(f)
		}
	}
	return d
}

func insideOut(m *Mesh, p *orientation, a *Adjacency) Defect {
	d := Defect{Kind: InsideOut}
	inward := p.inward(m, a)
	for f, l := range p.label {
		if l >= 0 && inward[l] {
			inward[l] = false
			d.add(f)
		}
	}
	return d
}

func unused(m *Mesh) Defect {
	d := Defect{Kind: UnusedVertices}
	used := make([]bool, len(m.V))
	for _, t := range m.F {
		used[t[0]], used[t[1]], used[t[2]] = true, true, true
	}
	for v, u := range used {
		if !u {
			d.add(v)
		}
	}
	return d
}
