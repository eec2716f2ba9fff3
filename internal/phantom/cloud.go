package phantom

import (
	"math"

	"crownassay/geom"
)

// cloud is points of a sheet's formula in a grid of cells, to start from, with
// the formula itself to find the nearest point of the sheet.
type cloud struct {
	s     sheet
	at    []param
	p     []geom.Vec
	lo    geom.Vec
	n     [3]int
	first []int32 // of each cell in order
	order []int32
}

// newCloud samples a sheet at even steps.
func newCloud(s sheet, turns, steps int) *cloud {
	c := &cloud{s: s}
	for k := range steps {
		q := s.span() * (float64(k) + 0.5) / float64(steps)
		for i := range turns {
			a := 2 * math.Pi * (float64(i) + 0.5*float64(k%2)) / float64(turns)
			c.at = append(c.at, param{a, q})
			c.p = append(c.p, s.point(a, q))
		}
	}
	c.sort()
	return c
}

// sort fills the cells by counting.
func (c *cloud) sort() {
	box := geom.EmptyBox()
	for _, p := range c.p {
		box = box.Include(p)
	}
	c.lo = box.Min
	d := box.Size()
	c.n = [3]int{int(d.X/cloudCell) + 1, int(d.Y/cloudCell) + 1, int(d.Z/cloudCell) + 1}
	c.first = make([]int32, c.n[0]*c.n[1]*c.n[2]+1)
	for _, p := range c.p {
		c.first[c.cell(c.key(p))+1]++
	}
	for i := 1; i < len(c.first); i++ {
		c.first[i] += c.first[i-1]
	}
	next := append([]int32{}, c.first...)
	c.order = make([]int32, len(c.p))
	for i, p := range c.p {
		k := c.cell(c.key(p))
		c.order[next[k]] = int32(i)
		next[k]++
	}
}

// key is the cell of p by its three indices, which may lie outside the grid.
func (c *cloud) key(p geom.Vec) [3]int {
	d := p.Sub(c.lo).Mul(1 / cloudCell)
	return [3]int{int(math.Floor(d.X)), int(math.Floor(d.Y)), int(math.Floor(d.Z))}
}

func (c *cloud) cell(k [3]int) int { return (k[2]*c.n[1]+k[1])*c.n[0] + k[0] }

// coarse returns the nearest point of the cloud and its distance, searching
// shells of cells until none can be nearer.
func (c *cloud) coarse(p geom.Vec) (int32, float64) {
	k, best, where := c.key(p), math.Inf(1), int32(-1)
	for ring := 0; ring < 200 && float64(ring-1)*cloudCell < best; ring++ {
		for z := max(0, k[2]-ring); z <= min(c.n[2]-1, k[2]+ring); z++ {
			for y := max(0, k[1]-ring); y <= min(c.n[1]-1, k[1]+ring); y++ {
				step := 2 * ring
				if z == k[2]-ring || z == k[2]+ring || y == k[1]-ring || y == k[1]+ring || ring == 0 {
					step = 1
				}
				for x := k[0] - ring; x <= k[0]+ring; x += step {
					if x < 0 || x >= c.n[0] {
						continue
					}
					where, best = c.scan(c.cell([3]int{x, y, z}), p, where, best)
				}
			}
		}
	}
	return where, best
}

func (c *cloud) scan(cell int, p geom.Vec, where int32, best float64) (int32, float64) {
	for _, i := range c.order[c.first[cell]:c.first[cell+1]] {
		if d := c.p[i].Dist(p); d < best {
			where, best = i, d
		}
	}
	return where, best
}

// fine walks from a point of the cloud to the nearest point of the sheet.
func (c *cloud) fine(p geom.Vec, from int32) (param, float64) {
	return foot(c.s, p, c.at[from], 0.1)
}

// foot walks from w to the nearest point of the sheet, as target.fine does, on
// a stencil that begins h wide; what is left is below 1e-6 mm.
func foot(s sheet, p geom.Vec, w param, h float64) (param, float64) {
	at := func(a, q float64) float64 {
		return s.point(a, math.Min(s.span(), math.Max(0, q))).Dist(p)
	}
	d := at(w.a, w.q)
	turn := 1 / math.Max(0.2, math.Hypot(p.X, p.Y))
	for h > 1e-4 {
		na, nq := parabolaStep(func(i, j float64) float64 { return at(w.a+i*h*turn, w.q+j*h) })
		a := w.a + na*h*turn
		q := math.Min(s.span(), math.Max(0, w.q+nq*h))
		if nd := at(a, q); nd < d {
			w, d = param{a, q}, nd
			if na*na+nq*nq > 0.25 {
				continue
			}
		}
		h /= 3
	}
	return w, d
}

// nearest returns the nearest point of the sheet and its distance.
func (c *cloud) nearest(p geom.Vec) (param, float64) {
	i, _ := c.coarse(p)
	return c.fine(p, i)
}
