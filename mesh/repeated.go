package mesh

// Repeated says of each facet whether an earlier one has the same corners, in
// whatever order.
func Repeated(m *Mesh, a *Adjacency) []bool {
	out := make([]bool, len(m.F))
	var odd map[[3]int32]bool // facets that name a vertex twice: no edge joins them
	for f, t := range m.F {
		if !collapsed(t) {
			out[f] = a.before(int32(f))
			continue
		}
		if odd == nil {
			odd = map[[3]int32]bool{}
		}
		k := sorted(t)
		out[f], odd[k] = odd[k], true
	}
	return out
}

// before reports whether a facet of the corners of f stands before it.
func (a *Adjacency) before(f int32) bool {
	for h := a.Around[3*f]; h != 3*f; h = a.Around[h] {
		if g := h / 3; g < f && sameCorners(a.m.F[g], a.m.F[f]) {
			return true
		}
	}
	return false
}
