package mesh

// Shells numbers the pieces of the mesh: facets joined across edges of any
// kind share a label. Labels count from 0 in the order of each piece's lowest
// facet. A facet that names a vertex twice belongs to no piece: label -1.
func Shells(m *Mesh, a *Adjacency) (label []int32, count int) {
	return pieces(m, a, func(int32) bool { return true })
}

// patches numbers the pieces joined across edges of exactly two facets, the
// only ones across which a direction can be carried.
func patches(m *Mesh, a *Adjacency) (label []int32, count int) {
	return pieces(m, a, func(h int32) bool { return a.Opposite[h] >= 0 || a.Opposite[h] == Flipped })
}

// pieces numbers the facets joined across the half-edges that pass lets through.
func pieces(m *Mesh, a *Adjacency, pass func(h int32) bool) (label []int32, count int) {
	label = make([]int32, len(m.F))
	for f := range label {
		label[f] = -1
	}
	var stack []int32
	for f := range label {
		if label[f] >= 0 || collapsed(m.F[f]) {
			continue
		}
		label[f] = int32(count)
		stack = append(stack[:0], int32(f))
		for len(stack) > 0 {
			g := stack[len(stack)-1]
			stack = a.spread(stack[:len(stack)-1], g, label, pass)
		}
		count++
	}
	return label, count
}

// spread gives the neighbours of facet g its label and stacks the new ones.
// Stepping once along Around reaches every facet of an edge in the end.
func (a *Adjacency) spread(stack []int32, g int32, label []int32, pass func(h int32) bool) []int32 {
	for h := 3 * g; h < 3*g+3; h++ {
		f := a.Around[h] / 3
		if label[f] < 0 && pass(h) {
			label[f] = label[g]
			stack = append(stack, f)
		}
	}
	return stack
}

// Closed reports whether the mesh has facets and none of its edges is a
// border: an even number of facets meets at each. It says nothing of their
// direction; see Oriented.
func Closed(m *Mesh, a *Adjacency) bool {
	some := false
	for h := range a.Opposite {
		switch a.Opposite[h] {
		case Border:
			return false
		case NonManifold:
			if a.last(int32(h)) && len(a.ring(int32(h)))%2 == 1 {
				return false
			}
		case Collapsed:
			continue
		}
		some = true
	}
	return some
}

// last reports whether h is the highest half-edge on its edge: Around ascends
// and jumps back there.
func (a *Adjacency) last(h int32) bool { return a.Around[h] <= h }

// ring lists the half-edges on the edge of h, h first.
func (a *Adjacency) ring(h int32) []int32 {
	r := []int32{h}
	for g := a.Around[h]; g != h; g = a.Around[g] {
		r = append(r, g)
	}
	return r
}
