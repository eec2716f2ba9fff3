package finishline

import (
	"math"
	"slices"

	"crownassay/align"
	"crownassay/bvh"
	"crownassay/geom"
)

// Step is the distance of a profile's samples along it, mm: a quarter of the
// finest facet edges of dental scans, so that resampling adds less than a
// hundredth of a millimetre.
const Step = 0.025

// bridge is the widest gap of a scan, mm, across which a profile is carried
// on (marked as gap): wider ones end it.
const bridge = 3.0

// Profile is the cut of a surface by the half plane that holds the axis and
// the direction of one azimuth, resampled at Step. Sample i is at distance
// R[i] from the axis and height Z[i]; Gap[i] says that no surface was scanned
// there and the sample lies on a straight bridge.
type Profile struct {
	Azimuth float64
	R, Z    []float64
	Gap     []bool
	sums    lineSums
}

// Len returns the number of samples.
func (p *Profile) Len() int { return len(p.R) }

// point is a point of a half plane.
type point struct{ r, z float64 }

func (a point) dist(b point) float64 { return math.Hypot(a.r-b.r, a.z-b.z) }

// piece is a run of surface in a half plane, directed so that the outside is
// on its left: outward from the axis over the top.
type piece []point

// slicer makes profiles of sections. With passing set they last until the next
// pair only, and its buffers are used again.
type slicer struct {
	scan    Scan
	frame   align.Frame
	reach   float64
	passing bool

	lift       []geom.Vec
	whole      piece
	store      []point // of the pieces of one section
	fore, back []piece
	samplers   [2]sampler
}

// plane is the one of azimuth a (degrees).
func (c *slicer) plane(a float64) geom.Plane {
	n := c.frame.Z.Cross(c.frame.Direction(a)).Unit()
	return geom.Plane{Normal: n, Offset: n.Dot(c.frame.Origin)}
}

// cutBoth cuts the surface with the plane of azimuth a and returns the
// profiles at a and a+180, seen within reach of the axis.
func (c *slicer) cutBoth(a float64) (fore, back Profile) {
	pl := c.plane(a)
	return c.both(a, pl, c.scan.Tree.SectionNear(pl, c.frame.Origin, c.reach))
}

// both makes the profiles at a and a+180 of the section of a plane.
func (c *slicer) both(a float64, pl geom.Plane, lines []bvh.Polyline) (Profile, Profile) {
	dir := c.frame.Direction(a)
	c.store, c.fore, c.back = c.store[:0], c.fore[:0], c.back[:0]
	for _, l := range lines {
		whole := c.planar(dir, pl.Normal, l)
		c.fore = c.clip(c.fore, whole)
		for i := range whole {
			whole[i].r = -whole[i].r
		}
		slices.Reverse(whole)
		c.back = c.clip(c.back, whole)
	}
	return c.join(&c.samplers[0], c.fore, a), c.join(&c.samplers[1], c.back, math.Mod(a+180, 360))
}

// planar brings a polyline into the plane's coordinates: distance along dir
// and height. A section runs along plane normal x facet normal, so with the
// plane's normal Z x dir it runs along dir over the top, outside on the left.
func (c *slicer) planar(dir, n geom.Vec, l bvh.Polyline) piece {
	pts := l.Points
	if l.Closed && len(pts) > 0 {
		pts = append(pts[:len(pts):len(pts)], pts[0])
	}
	if c.scan.Normals != nil {
		c.lift = c.scan.lifted(c.lift[:0], pts, l.Facets, n)
		pts = c.lift
	}
	c.whole = c.whole[:0]
	for _, p := range pts {
		d := p.Sub(c.frame.Origin)
		c.whole = append(c.whole, point{d.Dot(dir), d.Dot(c.frame.Z)})
	}
	return c.whole
}

// clip appends the runs of w with 0 <= r <= reach.
func (c *slicer) clip(dst []piece, w piece) []piece {
	from := len(c.store)
	flush := func() {
		if to := len(c.store); to-from > 1 {
			dst = append(dst, c.store[from:to:to])
		}
		from = len(c.store)
	}
	for i, p := range w {
		in := p.r >= 0 && p.r <= c.reach
		if i > 0 {
			q := w[i-1]
			if qin := q.r >= 0 && q.r <= c.reach; qin != in {
				edge := 0.0
				if p.r > c.reach || q.r > c.reach {
					edge = c.reach
				}
				t := (edge - q.r) / (p.r - q.r)
				c.store = append(c.store, point{edge, q.z + t*(p.z-q.z)})
				if qin {
					flush()
				}
			}
		}
		if in {
			c.store = append(c.store, p)
		}
	}
	flush()
	return dst
}

// join chains pieces from the axis outward and resamples the chain.
func (c *slicer) join(s *sampler, pieces []piece, azimuth float64) Profile {
	s.clear()
	used := make([]bool, len(pieces))
	for k := start(pieces); k >= 0; {
		used[k] = true
		s.add(pieces[k], false)
		end := pieces[k][len(pieces[k])-1]
		if end.r >= c.reach-1e-9 || end.r <= 1e-9 {
			break
		}
		k = next(pieces, used, end)
		if k >= 0 {
			s.add(piece{end, pieces[k][0]}, true)
		}
	}
	p := Profile{Azimuth: azimuth, R: s.r, Z: s.z, Gap: s.gap}
	if c.passing {
		s.sums = sumsOf(s.sums[:0], p.R, p.Z)
		p.sums = s.sums
		return p
	}
	n := len(s.r)
	rz := append(append(make([]float64, 0, 2*n), s.r...), s.z...)
	p.R, p.Z, p.Gap = rz[:n:n], rz[n:], slices.Clone(s.gap)
	p.sums = sumsOf(make(lineSums, 0, n+1), p.R, p.Z)
	return p
}

// start returns the piece that leaves the axis highest, or else the one that
// begins nearest to it; -1 if there is none.
func start(pieces []piece) int {
	best, bestZ := -1, math.Inf(-1)
	for i, p := range pieces {
		if p[0].r < 1e-9 && p[0].z > bestZ {
			best, bestZ = i, p[0].z
		}
	}
	if best >= 0 {
		return best
	}
	near := bridge
	for i, p := range pieces {
		if p[0].r < near {
			best, near = i, p[0].r
		}
	}
	return best
}

// next returns the unused piece that begins nearest to end, within bridge.
func next(pieces []piece, used []bool, end point) int {
	best, near := -1, bridge
	for i, p := range pieces {
		if used[i] || p[0].r < 1e-9 {
			continue
		}
		if d := end.dist(p[0]); d < near {
			best, near = i, d
		}
	}
	return best
}

// sampler walks points and leaves a sample every Step.
type sampler struct {
	r, z  []float64
	gap   []bool
	sums  lineSums
	carry float64
}

// clear forgets the samples.
func (s *sampler) clear() { s.r, s.z, s.gap, s.carry = s.r[:0], s.z[:0], s.gap[:0], 0 }

func (s *sampler) put(p point, gap bool) {
	s.r, s.z, s.gap = append(s.r, p.r), append(s.z, p.z), append(s.gap, gap)
}

func (s *sampler) add(line piece, gap bool) {
	if len(s.r) == 0 {
		s.put(line[0], gap)
	}
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		dr, dz, l := b.r-a.r, b.z-a.z, a.dist(b)
		for t := Step - s.carry; t <= l; t += Step {
			w := t / l
			s.put(point{a.r + w*dr, a.z + w*dz}, gap)
		}
		s.carry = math.Mod(s.carry+l, Step)
	}
}
