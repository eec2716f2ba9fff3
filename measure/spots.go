package measure

import (
	"math"
	"slices"
	"sync"

	"crownassay/finishline"
	"crownassay/geom"
	"crownassay/reading"
)

// spot is a small piece of the preparation: where, how large, and on which
// azimuth and zone it lies.
type spot struct {
	point   geom.Vec
	area    float64
	azimuth int
	zone    zoned
}

// How facets are divided into spots, mm, and where the fossa ends.
const (
	spotEdge   = 0.12 // longer edges are halved, so that 0.05 mm^2 is several spots
	fossaShare = 0.45 // of the line angle's reach (definition of the zones)
	underLine  = 0.2  // how far below the finish line's height the prepared surface may dip inside it
	edgeDip    = 0.5  // how far below the line angle the occlusal surface may dip, and half of its distance more
)

// divided is the prepared surface inside the finish line, divided into parts.
type divided struct {
	spotsOnce, wallOnce sync.Once
	occlusal, axial     []spot
	wall                []bool
}

// spots divides the prepared surface inside the finish line into the
// occlusal part, above the line angle, and the axial part between it and the
// wall's inner end, once; what it returns is not to be changed. The ledge of
// the finish line belongs to neither.
func (s *Site) spots() (occlusal, axial []spot) {
	d := s.divided
	d.spotsOnce.Do(func() { d.occlusal, d.axial = s.divide() })
	return d.occlusal, d.axial
}

// wallFacets tells, once, of each facet of the prepared surface whether its
// middle lies in the axial part.
func (s *Site) wallFacets() []bool {
	s.divided.wallOnce.Do(func() {
		m, d := s.Prepared.Mesh, s.newDivider()
		d.facet = -1
		s.divided.wall = make([]bool, len(m.F))
		for f := range m.F {
			p, q, r := m.Corner(int32(f))
			if mid := p.Add(q).Add(r).Mul(1.0 / 3); !d.far(mid) {
				d.axial = d.axial[:0]
				d.sort(mid, 0)
				s.divided.wall[f] = len(d.axial) > 0
			}
		}
	})
	return s.divided.wall
}

func (s *Site) divide() (occlusal, axial []spot) {
	d := s.newDivider()
	m := s.Prepared.Mesh
	for f := range m.F {
		a, b, c := m.Corner(int32(f))
		if d.far(a) {
			continue
		}
		d.facet = int32(f)
		d.cut(a, b, c)
	}
	return d.occlusal, d.axial
}

// divider sorts pieces of facets; the line angle and the wall's inner end are
// given per section.
type divider struct {
	site            *Site
	facet           int32 // the one being cut
	edgeR, edgeZ    []float64
	innerR, innerZ  []float64
	occlusal, axial []spot
	reach           float64 // mm: farther from the axis no corner of a facet inside the finish line lies
}

// cornerReach is how far, mm, outside the finish line a facet inside it may
// have a corner: larger facets show nothing.
const cornerReach = 1.0

// far reports whether a facet's corner lies too far from the axis.
func (d *divider) far(corner geom.Vec) bool {
	return corner.Sub(d.site.Frame.Origin).Reject(d.site.Frame.Z).Norm() > d.reach
}

func (s *Site) newDivider() divider {
	d := divider{site: s}
	d.edgeR, d.edgeZ = s.along(func(w *finishline.Wall) (r, z float64) { return w.EdgeR, w.EdgeZ })
	d.innerR, d.innerZ = s.along(func(w *finishline.Wall) (r, z float64) { return w.InnerR, w.InnerZ })
	d.reach = slices.Max(s.Line.R[:]) + cornerReach
	return d
}

// cut halves a triangle until it is a spot.
func (d *divider) cut(a, b, c geom.Vec) {
	if x, y, z, mid, long := halve(a, b, c); long {
		d.cut(x, mid, z)
		d.cut(mid, y, z)
		return
	}
	d.sort(d.site.Prepared.lifted(d.facet, a.Add(b).Add(c).Mul(1.0/3)), geom.TriangleArea(a, b, c))
}

// sort puts one spot where it belongs.
func (d *divider) sort(p geom.Vec, area float64) {
	s := d.site
	azimuth, r, z := s.Frame.Cylinder(p)
	lr, lz := s.lineAt(azimuth)
	k := wrap(int(math.Round(azimuth)))
	if r >= lr || z <= lz-underLine || math.IsNaN(d.edgeR[k]) {
		return
	}
	er, ez := d.edgeR[k], d.edgeZ[k]
	switch {
	case r < er && z > ez-0.5*(er-r)-edgeDip && above(r, z, er, ez):
		d.occlusal = append(d.occlusal, spot{p, area, k, s.zoned(azimuth, r, er).within(r, z, er, ez)})
	case z > s.Line.Z[k] && above(r, z, d.innerR[k], d.innerZ[k]):
		d.axial = append(d.axial, spot{p, area, k, zoned{}})
	}
}

// above reports whether a point of a section lies above an end of the wall:
// the end looks up and in along 45 degrees.
func above(r, z, endR, endZ float64) bool { return z-endZ >= r-endR }

// halve returns the triangle turned so that xy is its longest edge, with that
// edge's middle, and whether it is longer than spotEdge.
func halve(a, b, c geom.Vec) (x, y, z, mid geom.Vec, long bool) {
	ab, bc, ca := a.DistSq(b), b.DistSq(c), c.DistSq(a)
	switch {
	case ab >= bc && ab >= ca:
		x, y, z = a, b, c
	case bc >= ca:
		x, y, z, ab = b, c, a, bc
	default:
		x, y, z, ab = c, a, b, ca
	}
	return x, y, z, x.Lerp(y, 0.5), ab > spotEdge*spotEdge
}

// along returns an end of the wall per section, bridged where a section shows
// none; NaN when hardly any does.
func (s *Site) along(end func(*finishline.Wall) (r, z float64)) (r, z []float64) {
	n := finishline.Sections
	r, z = make([]float64, n), make([]float64, n)
	for k := range n {
		r[k], z[k] = math.NaN(), math.NaN()
		if w := &s.Walls[k]; w.Ok {
			r[k], z[k] = end(w)
		}
	}
	return bridged(r), bridged(z)
}

// bridged fills NaN runs linearly around the circle.
func bridged(v []float64) []float64 {
	out := append([]float64(nil), v...)
	n := len(v)
	for k := range v {
		if !math.IsNaN(v[k]) {
			continue
		}
		lo, hi := 1, 1
		for lo < n && math.IsNaN(v[(k-lo+n)%n]) {
			lo++
		}
		for hi < n && math.IsNaN(v[(k+hi)%n]) {
			hi++
		}
		if lo < n {
			t := float64(lo) / float64(lo+hi)
			out[k] = v[(k-lo+n)%n]*(1-t) + v[(k+hi)%n]*t
		}
	}
	return out
}

// zoned is where a spot lies between the zones of the occlusal surface. Lengths
// mm, square to the axis.
type zoned struct {
	known      bool
	functional float64 // from the line between mesial and distal, + on the functional cusps' side
	outside    float64 // from the fossa's border, + outside the fossa
	blur       float64 // standard uncertainty of where those borders lie here
	rim        float64 // inside the line angle, where the occlusal surface ends
}

// How well the borders of the zones are known.
const (
	mesialBlur = 1.5 * math.Pi / 180 // standard uncertainty of the mesial direction: its mean error on 74 invented arches is 1.1 degrees
	borderBlur = 0.03                // mm, of a border beside that: the axis, and the line angle's reach
)

// zoned places a spot at an azimuth (degrees) and a distance r from the axis,
// where the line angle reaches edge: in no zone on front teeth and where
// directions are not known.
func (s *Site) zoned(azimuth, r, edge float64) zoned {
	if !s.Posterior || !s.Mesial {
		return zoned{}
	}
	z := zoned{known: true, functional: r * math.Sin(azimuth*math.Pi/180), outside: r - fossaShare*edge, blur: math.Hypot(borderBlur, r*mesialBlur)}
	if s.FunctionalLingual {
		z.functional = -z.functional
	}
	return z
}

// within adds how far inside the line angle, at (edgeR, edgeZ) of its section, a
// spot at (r, z) lies.
func (z zoned) within(r, height, edgeR, edgeZ float64) zoned {
	z.rim = math.Min(edgeR-r, (height-edgeZ-(r-edgeR))/math.Sqrt2)
	return z
}

// inside reports whether the spot stays in its part where the line angle moves
// in by what it is not known.
func (z *zoned) inside() bool { return z.rim > borderBlur }

// in reports whether the spot lies in a zone whose borders are moved outward
// by so many times their standard uncertainty.
func (z *zoned) in(zone string, wider float64) bool {
	d := wider * z.blur
	switch {
	case !z.known:
		return false
	case zone == reading.Fossa:
		return z.outside < wider*borderBlur
	case zone == reading.FunctionalCusps:
		return z.outside >= -wider*borderBlur && z.functional >= -d
	default:
		return z.outside >= -wider*borderBlur && z.functional < d
	}
}
