package curvature

import (
	"context"

	"crownassay/geom"
	"crownassay/internal/par"
	"crownassay/mesh"
)

// Curv is the shape of the surface at one vertex.
type Curv struct {
	Fit
	OK bool // false: the neighbourhood does not determine a quadric
}

// Principal fits a quadric at every vertex, to the vertices that a walk along
// the edges reaches without leaving the ball of the given radius, mm, or, for
// radius 0 and where the ball holds too few, to the two rings around the
// vertex. Vertices whose normals turn away from the vertex's own are not
// walked to: the far side of a thin edge is no graph over this one. The error
// is the context's.
func Principal(ctx context.Context, m *mesh.Mesh, radius float64) ([]Curv, error) {
	out := make([]Curv, len(m.V))
	patch := shared{m: m, normals: m.VertexNormals(), links: newLinks(m)}
	size := max(par.Chunk, len(m.V)/maxScratch)
	err := par.Do(ctx, len(m.V), size, func(lo, hi int) {
		w := walker{shared: &patch, seen: make([]int32, len(m.V))}
		for v := lo; v < hi; v++ {
			out[v].Fit, out[v].OK = w.fit(int32(v), radius)
		}
	})
	return out, err
}

// maxScratch is how many chunks there are at most; each has its own marks.
const maxScratch = 32

type shared struct {
	m       *mesh.Mesh
	normals []geom.Vec
	links   links
}

// walker gathers neighbourhoods.
type walker struct {
	*shared
	seen   []int32 // seen[v] == mark: already reached
	mark   int32
	queue  []int32
	points []geom.Vec
}

// fewest is how many points a ball must hold to be used: half as many again
// as unknowns, so that the residual means something.
const fewest = 9

func (w *walker) fit(v int32, radius float64) (Fit, bool) {
	w.ball(v, radius)
	if len(w.queue) < fewest {
		w.rings(v, 2)
	}
	w.points = w.points[:0]
	for _, q := range w.queue {
		w.points = append(w.points, w.m.V[q])
	}
	return Quadric(w.points, w.m.V[v], w.normals[v])
}

// start begins a walk at v.
func (w *walker) start(v int32) {
	w.mark++
	w.seen[v] = w.mark
	w.queue = append(w.queue[:0], v)
}

// ball puts what can be reached within the radius of v in the queue.
func (w *walker) ball(v int32, radius float64) {
	w.start(v)
	c, rSq := w.m.V[v], radius*radius
	for i := 0; i < len(w.queue); i++ {
		for _, q := range w.links.at(w.queue[i]) {
			if c.DistSq(w.m.V[q]) <= rSq {
				w.reach(v, q)
			}
		}
	}
}

// rings puts the vertices up to n edges from v in the queue.
func (w *walker) rings(v int32, n int) {
	w.start(v)
	for done := 0; n > 0; n-- {
		end := len(w.queue)
		for _, p := range w.queue[done:end] {
			for _, q := range w.links.at(p) {
				w.reach(v, q)
			}
		}
		done = end
	}
}

// reach appends q if it is new and faces the way v does.
func (w *walker) reach(v, q int32) {
	if w.seen[q] != w.mark && w.normals[v].Dot(w.normals[q]) > 0 {
		w.seen[q] = w.mark
		w.queue = append(w.queue, q)
	}
}
