package mesh

// Ring lists the facets at each vertex: those of v are Facet[Start[v]] to
// Facet[Start[v+1]-1], in ascending order. A facet that names a vertex twice
// stands there once.
type Ring struct {
	Start []int32 // one more than there are vertices
	Facet []int32
}

// At returns the facets at vertex v, ascending; not to be changed.
func (r Ring) At(v int32) []int32 { return r.Facet[r.Start[v]:r.Start[v+1]] }

// Incidence lists the facets at each vertex.
func Incidence(m *Mesh) Ring {
	next := make([]int32, len(m.V)+2)
	for _, t := range m.F {
		for k := range t {
			if firstNamed(t, k) {
				next[t[k]+2]++
			}
		}
	}
	for v := 2; v < len(next); v++ {
		next[v] += next[v-1]
	}
	facet := make([]int32, next[len(next)-1])
	for f, t := range m.F {
		for k := range t {
			if firstNamed(t, k) {
				facet[next[t[k]+1]] = int32(f)
				next[t[k]+1]++
			}
		}
	}
	return Ring{Start: next[:len(m.V)+1], Facet: facet}
}

// firstNamed reports whether no earlier corner names the vertex of corner k.
func firstNamed(t [3]int32, k int) bool {
	return k == 0 || t[k] != t[0] && (k == 1 || t[k] != t[1])
}
