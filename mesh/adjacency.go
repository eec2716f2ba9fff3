package mesh

import "slices"

// What Opposite holds where an edge has no single facet on its other side.
const (
	Border      int32 = -1 // one facet
	NonManifold int32 = -2 // more than two facets
	Flipped     int32 = -3 // two facets that run along the edge the same way
	Collapsed   int32 = -4 // the facet names a vertex twice and has no edges
)

// Adjacency says what lies across every edge. Half-edge 3f+k runs from corner
// k to corner k+1 of facet f. A facet that names a vertex twice takes no part:
// the facets on its two sides are neighbours of each other.
type Adjacency struct {
	// Opposite is the half-edge of the facet on the other side, which runs the
	// other way, or Border, NonManifold, Flipped or Collapsed.
	Opposite []int32
	// Around is the next half-edge on the same edge, whichever way it runs, in
	// order of index and cyclic; a border half-edge comes to itself.
	Around []int32

	m *Mesh // whose edges these are; only its facets are looked at
}

// Next returns the half-edge after h in its facet.
func Next(h int32) int32 {
	if h%3 == 2 {
		return h - 2
	}
	return h + 1
}

// Prev returns the half-edge before h in its facet.
func Prev(h int32) int32 {
	if h%3 == 0 {
		return h + 2
	}
	return h - 1
}

// From returns the vertex at which half-edge h starts.
func (m *Mesh) From(h int32) int32 { return m.F[h/3][h%3] }

// To returns the vertex at which half-edge h ends.
func (m *Mesh) To(h int32) int32 { return m.From(Next(h)) }

// collapsed reports whether facet t names a vertex twice.
func collapsed(t [3]int32) bool { return t[0] == t[1] || t[1] == t[2] || t[2] == t[0] }

// Adjacent finds what lies across every edge. Half-edges are counted into one
// bucket per lower vertex and ordered there by their upper vertex, so the time
// is linear in the facets and the result does not depend on a hash.
func Adjacent(m *Mesh) *Adjacency {
	n := 3 * len(m.F)
	links := make([]int32, 2*n)
	a := &Adjacency{Opposite: links[:n:n], Around: links[n:], m: m}
	start, keys := edgeBuckets(m, a)
	for v := range m.V {
		a.linkBucket(m, keys[start[v]:start[v+1]])
	}
	return a
}

// edgeBuckets groups half-edges by lower vertex: those of v are the keys
// start[v] to start[v+1], each the upper vertex << 32 | half-edge. Half-edges
// of collapsed facets are set aside.
func edgeBuckets(m *Mesh, a *Adjacency) (start []int32, keys []uint64) {
	next := make([]int32, len(m.V)+2)
	for f, t := range m.F {
		if collapsed(t) {
			a.setAside(int32(f))
			continue
		}
		next[min(t[0], t[1])+2]++
		next[min(t[1], t[2])+2]++
		next[min(t[2], t[0])+2]++
	}
	for v := 2; v < len(next); v++ {
		next[v] += next[v-1]
	}
	keys = make([]uint64, next[len(next)-1])
	for f, t := range m.F {
		if collapsed(t) {
			continue
		}
		for k := range int32(3) {
			u, w := t[k], t[(k+1)%3]
			at := &next[min(u, w)+1]
			keys[*at] = uint64(max(u, w))<<32 | uint64(3*int32(f)+k)
			*at++
		}
	}
	return next, keys
}

// setAside marks the half-edges of a collapsed facet.
func (a *Adjacency) setAside(f int32) {
	for h := 3 * f; h < 3*f+3; h++ {
		a.Opposite[h], a.Around[h] = Collapsed, h
	}
}

// linkBucket joins the half-edges of one lower vertex edge by edge.
func (a *Adjacency) linkBucket(m *Mesh, keys []uint64) {
	sortKeys(keys)
	for i := 0; i < len(keys); {
		j := i + 1
		for j < len(keys) && keys[j]>>32 == keys[i]>>32 {
			j++
		}
		a.linkEdge(m, keys[i:j])
		i = j
	}
}

// linkEdge joins the half-edges that lie on one edge.
func (a *Adjacency) linkEdge(m *Mesh, keys []uint64) {
	if len(keys) == 2 {
		g, h := int32(uint32(keys[0])), int32(uint32(keys[1]))
		a.Around[g], a.Around[h] = h, g
		a.Opposite[g], a.Opposite[h] = h, g
		if m.From(g) == m.From(h) {
			a.Opposite[g], a.Opposite[h] = Flipped, Flipped
		}
		return
	}
	code := NonManifold
	if len(keys) == 1 {
		code = Border
	}
	for i, k := range keys {
		h := int32(uint32(k))
		a.Around[h] = int32(uint32(keys[(i+1)%len(keys)]))
		a.Opposite[h] = code
	}
}

// insertionLimit is the length up to which insertion beats the general sort
// (measured; buckets of a scan hold 6 half-edges on average). Longer buckets
// occur at the hub of a fan, where insertion would be quadratic.
const insertionLimit = 24

func sortKeys(keys []uint64) {
	if len(keys) > insertionLimit {
		slices.Sort(keys)
		return
	}
	for i := 1; i < len(keys); i++ {
		k, j := keys[i], i
		for j > 0 && keys[j-1] > k {
			keys[j] = keys[j-1]
			j--
		}
		keys[j] = k
	}
}
