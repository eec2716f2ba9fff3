package mesh

import "slices"

// BorderLoops returns the borders of the mesh as closed loops of vertices,
// each given once without repeating its start. A loop runs the way of its
// lowest half-edge, so the surface lies to its left seen from outside; loops
// come in the order of their lowest half-edge. No loop passes a vertex twice:
// where borders touch, each stays with its own facets and is cut at the vertex
// (of several ways to cut, the one that comes first from the lowest half-edge).
// A border that ends at an edge of more than two facets is closed by that gap.
func (a *Adjacency) BorderLoops() [][]int32 {
	w := borderWalk{m: a.m, a: a, done: make([]bool, len(a.Opposite)), at: make([]int32, len(a.m.V))}
	var loops [][]int32
	for h := range a.Opposite {
		if a.Opposite[h] == Border && !w.done[h] {
			loops = append(loops, w.simple(w.chain(int32(h)))...)
		}
	}
	return loops
}

// borderWalk follows borders; done are the half-edges walked, at is scratch
// of simple: one more than the place of each vertex on its stack.
type borderWalk struct {
	m    *Mesh
	a    *Adjacency
	done []bool
	at   []int32
}

// chain returns the vertices of the border through h, from its start onward
// and, if the border breaks off, from where it begins.
func (w *borderWalk) chain(h int32) []int32 {
	w.done[h] = true
	u, v := w.m.From(h), w.m.To(h)
	ahead, closed := w.walk(h, v)
	if closed {
		return append([]int32{u}, ahead[:len(ahead)-1]...)
	}
	back, _ := w.walk(h, u)
	slices.Reverse(back)
	return append(back, ahead...)
}

// walk follows the border from half-edge h on past vertex v. It returns the
// vertices from v on and whether it came back to where it began.
func (w *borderWalk) walk(h, v int32) (path []int32, closed bool) {
	for path = []int32{v}; ; path = append(path, v) {
		h = w.turn(h, v)
		if h < 0 || w.done[h] {
			return path, h >= 0
		}
		w.done[h] = true
		v = w.m.From(h) + w.m.To(h) - v
	}
}

// turn goes through the facets around vertex v from border half-edge h to the
// other border of that fan; -1 where an edge of more than two facets is in the
// way. Facets may be flipped: the way goes by the edges at v alone.
func (w *borderWalk) turn(h, v int32) int32 {
	for {
		if w.m.From(h) == v {
			h = Prev(h)
		} else {
			h = Next(h)
		}
		switch w.a.Opposite[h] {
		case Border:
			return h
		case NonManifold:
			return -1
		}
		h = w.a.Around[h]
	}
}

// simple cuts a closed path at the vertices that it passes more than once.
func (w *borderWalk) simple(path []int32) [][]int32 {
	var loops [][]int32
	stack := make([]int32, 0, len(path))
	for _, v := range path {
		if i := w.at[v]; i > 0 {
			loops = append(loops, slices.Clone(stack[i-1:]))
			stack = w.pop(stack, int(i-1))
		}
		stack = append(stack, v)
		w.at[v] = int32(len(stack))
	}
	if len(stack) > 0 {
		loops = append(loops, slices.Clone(stack))
		w.pop(stack, 0)
	}
	slices.Reverse(loops)
	return loops
}

// pop takes the stack back to n vertices and forgets the places of the rest.
func (w *borderWalk) pop(stack []int32, n int) []int32 {
	for _, v := range stack[n:] {
		w.at[v] = 0
	}
	return stack[:n]
}
