package phantom

import (
	"context"
	"math"
	"math/rand/v2"

	"crownassay/geom"
	"crownassay/internal/par"
	"crownassay/mesh"
)

// sheet is a surface round an axis: azimuth a and a running length q, in
// millimetres on the average, from the pole at 0 to span.
type sheet interface {
	point(a, q float64) geom.Vec
	span() float64
	grain(q float64) float64 // wanted spacing there as a share of the mesh's
	edge() (q float64, ok bool)
}

// ring is one row of vertices at about the same q.
type ring struct {
	q     float64
	count int
}

// plan lays rings over a sheet for the spacing h (mm).
func plan(s sheet, perimeter []float64, h float64, aligned bool) []ring {
	end := s.span()
	var rings []ring
	for q := 0.0; ; {
		d := h * s.grain(q)
		q += 0.87 * d
		if q > end-0.6*d {
			return rings
		}
		rings = append(rings, ring{q, ringCount(perimeter, q/end, d)})
		if e, ok := s.edge(); aligned && ok && q < e && q+0.87*d > e {
			rings[len(rings)-1].q = e
			q = e
		}
	}
}

func ringCount(perimeter []float64, t, d float64) int {
	x := t * float64(len(perimeter)-1)
	i := min(int(x), len(perimeter)-2)
	l := perimeter[i] + (x-float64(i))*(perimeter[i+1]-perimeter[i])
	return max(6, int(l/d))
}

// perimeters measures the rings at 41 values of q.
func perimeters(s sheet) []float64 {
	out := make([]float64, 41)
	for i := range out {
		q := s.span() * float64(i) / 40
		last := s.point(0, q)
		for k := 1; k <= 32; k++ {
			p := s.point(2*math.Pi*float64(k)/32, q)
			out[i] += p.Dist(last)
			last = p
		}
	}
	return out
}

// planned returns how many facets the rings will make.
func planned(rings []ring, border int) int {
	n := 6
	for i, r := range rings {
		next := border
		if i+1 < len(rings) {
			next = rings[i+1].count
		}
		n += r.count + next
	}
	return n
}

// row is a ring of placed vertices: azimuths rising over one turn, and the
// index of the first vertex.
type row struct {
	az    []float64
	index []int32
}

// param is where on its sheet a vertex lies.
type param struct{ a, q float64 }

// weave places the rings' vertices with jitter, fills the points in parallel
// and joins the rows to facets. The last row is the cell's border, given.
func weave(ctx context.Context, s sheet, rings []ring, border row, rng *rand.Rand, aligned bool) (*mesh.Mesh, []param, error) {
	rows, at := place(s, rings, rng, aligned)
	m := &mesh.Mesh{V: make([]geom.Vec, len(at))}
	err := par.Do(ctx, len(at), 256, func(lo, hi int) {
		for i := lo; i < hi; i++ {
			m.V[i] = s.point(at[i].a, at[i].q)
		}
	})
	if err != nil {
		return nil, nil, err
	}
	m.F = fan(rows[0])
	rows = append(rows, border)
	for i := 1; i < len(rows); i++ {
		m.F = zip(m.F, rows[i-1], rows[i])
	}
	return m, at, nil
}

// place jitters every ring in azimuth and in q. Vertex 0 is the pole.
func place(s sheet, rings []ring, rng *rand.Rand, aligned bool) ([]row, []param) {
	at := []param{{0, 0}}
	rows := make([]row, len(rings))
	for i, r := range rings {
		lo, hi := gap(rings, i-1, s.span()), gap(rings, i, s.span())
		if e, ok := s.edge(); aligned && ok && r.q == e {
			lo, hi = 0, 0
		}
		phase := rng.Float64()
		for k := range r.count {
			a := 2 * math.Pi * (float64(k) + phase + 0.5*(rng.Float64()-0.5)) / float64(r.count)
			j := rng.Float64() - 0.5
			d := j * hi
			if j < 0 {
				d = j * lo
			}
			rows[i].az = append(rows[i].az, a)
			rows[i].index = append(rows[i].index, int32(len(at)))
			at = append(at, param{a, r.q + 0.6*d})
		}
	}
	return rows, at
}

// gap is the step in q from ring i to the next.
func gap(rings []ring, i int, end float64) float64 {
	switch {
	case i < 0:
		return rings[0].q
	case i+1 < len(rings):
		return rings[i+1].q - rings[i].q
	}
	return end - rings[i].q
}

// fan joins the first row to the pole, vertex 0.
func fan(r row) [][3]int32 {
	f := make([][3]int32, 0, len(r.index))
	for k := range r.index {
		f = append(f, [3]int32{0, r.index[k], r.index[(k+1)%len(r.index)]})
	}
	return f
}

// zip joins an inner to an outer row, always advancing on the row whose next
// vertex comes first in azimuth.
func zip(f [][3]int32, in, out row) [][3]int32 {
	n, m := len(in.az), len(out.az)
	start := nearest(out.az, in.az[0])
	base := in.az[0] + turn(out.az[start]-in.az[0]) - out.az[start]
	angle := func(j int) float64 { // azimuth of outer vertex start+j, unrolled
		k := start + j
		return out.az[k%m] + base + 2*math.Pi*float64(k/m)
	}
	inner := func(i int) float64 { return in.az[i%n] + 2*math.Pi*float64(i/n) }
	for i, j := 0, 0; i < n || j < m; {
		a, b := in.index[i%n], out.index[(start+j)%m]
		if j == m || (i < n && inner(i+1)+inner(i) < angle(j+1)+angle(j)) {
			f = append(f, [3]int32{a, b, in.index[(i+1)%n]})
			i++
		} else {
			f = append(f, [3]int32{a, b, out.index[(start+j+1)%m]})
			j++
		}
	}
	return f
}

func nearest(az []float64, a float64) int {
	best, where := math.Inf(1), 0
	for k, v := range az {
		if d := math.Abs(turn(v - a)); d < best {
			best, where = d, k
		}
	}
	return where
}
