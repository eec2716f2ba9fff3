package finishline

import (
	"math"

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

// cutBoth cuts the surface with the plane of azimuth a (degrees) and returns
// the profiles at a and a+180, seen within reach of the axis.
func cutBoth(s Scan, f align.Frame, a, reach float64) (Profile, Profile) {
	dir := f.Direction(a)
	n := f.Z.Cross(dir).Unit()
	lines := s.Tree.SectionNear(geom.Plane{Normal: n, Offset: n.Dot(f.Origin)}, f.Origin, reach)
	var fore, back []piece
	for _, l := range lines {
		whole := s.planar(f, dir, n, l)
		fore = clip(fore, whole, reach)
		for i := range whole {
			whole[i].r = -whole[i].r
		}
		reverse(whole)
		back = clip(back, whole, reach)
	}
	return join(fore, a, reach), join(back, math.Mod(a+180, 360), reach)
}

// planar brings a polyline into the plane's coordinates: distance along dir
// and height. A section runs along plane normal x facet normal, so with the
// plane's normal Z x dir it runs along dir over the top, outside on the left.
func (s Scan) planar(f align.Frame, dir, n geom.Vec, l bvh.Polyline) piece {
	pts := l.Points
	if l.Closed && len(pts) > 0 {
		pts = append(pts[:len(pts):len(pts)], pts[0])
	}
	if s.Normals != nil {
		pts = s.lifted(pts, l.Facets, n)
	}
	out := make(piece, len(pts))
	for i, p := range pts {
		d := p.Sub(f.Origin)
		out[i] = point{d.Dot(dir), d.Dot(f.Z)}
	}
	return out
}

func reverse(p piece) {
	for i, j := 0, len(p)-1; i < j; i, j = i+1, j-1 {
		p[i], p[j] = p[j], p[i]
	}
}

// clip appends the runs of w with 0 <= r <= reach.
func clip(dst []piece, w piece, reach float64) []piece {
	var run piece
	flush := func() {
		if len(run) > 1 {
			dst = append(dst, run)
		}
		run = nil
	}
	for i, p := range w {
		in := p.r >= 0 && p.r <= reach
		if i > 0 {
			q := w[i-1]
			if qin := q.r >= 0 && q.r <= reach; qin != in {
				edge := 0.0
				if p.r > reach || q.r > reach {
					edge = reach
				}
				t := (edge - q.r) / (p.r - q.r)
				run = append(run, point{edge, q.z + t*(p.z-q.z)})
				if qin {
					flush()
				}
			}
		}
		if in {
			run = append(run, p)
		}
	}
	flush()
	return dst
}

// join chains pieces from the axis outward and resamples the chain.
func join(pieces []piece, azimuth, reach float64) Profile {
	first := start(pieces)
	if first < 0 {
		return Profile{Azimuth: azimuth}
	}
	used := make([]bool, len(pieces))
	var s sampler
	for k := first; k >= 0; {
		used[k] = true
		s.add(pieces[k], false)
		end := pieces[k][len(pieces[k])-1]
		if end.r >= reach-1e-9 || end.r <= 1e-9 {
			break
		}
		k = next(pieces, used, end)
		if k >= 0 {
			s.add(piece{end, pieces[k][0]}, true)
		}
	}
	p := Profile{Azimuth: azimuth, R: s.r, Z: s.z, Gap: s.gap}
	p.sums = newLineSums(p.R, p.Z)
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
	carry float64
	begun bool
}

func (s *sampler) put(p point, gap bool) {
	s.r, s.z, s.gap = append(s.r, p.r), append(s.z, p.z), append(s.gap, gap)
}

func (s *sampler) add(line piece, gap bool) {
	if !s.begun {
		s.put(line[0], gap)
		s.begun = true
	}
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		l := a.dist(b)
		for t := Step - s.carry; t <= l; t += Step {
			w := t / l
			s.put(point{a.r + w*(b.r-a.r), a.z + w*(b.z-a.z)}, gap)
		}
		s.carry = math.Mod(s.carry+l, Step)
	}
}
