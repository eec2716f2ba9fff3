package measure

import (
	"context"
	"math"

	"crownassay/bvh"
	"crownassay/finishline"
	"crownassay/geom"
)

// flat is a point of a section: distance from the axis and height, mm.
type flat struct{ r, z float64 }

func (a flat) sub(b flat) flat      { return flat{a.r - b.r, a.z - b.z} }
func (a flat) dist(b flat) float64  { return math.Hypot(a.r-b.r, a.z-b.z) }
func (a flat) cross(b flat) float64 { return float64(a.r*b.z) - float64(a.z*b.r) }
func (a flat) dot(b flat) float64   { return float64(a.r*b.r) + float64(a.z*b.z) }
func (a flat) lerp(b flat, t float64) flat {
	return flat{a.r + t*(b.r-a.r), a.z + t*(b.z-a.z)}
}

// run is a connected piece of surface in a half plane, directed so that the
// outside is on its left: over the top it goes away from the axis. Its points
// are the exact cuts of the facets' edges. facet[i] holds the segment from
// point i to point i+1.
type run struct {
	p     []flat
	facet []int32
}

// at returns the point a distance s along the run, and the index of the
// segment that holds it; beyond the ends it returns the ends.
func (u *run) at(arc []float64, s float64) (flat, int) {
	n := len(u.p)
	if s <= 0 {
		return u.p[0], 0
	}
	if s >= arc[n-1] {
		return u.p[n-1], max(0, n-2)
	}
	lo, hi := 0, n-1
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; arc[mid] <= s {
			lo = mid
		} else {
			hi = mid
		}
	}
	return u.p[lo].lerp(u.p[hi], (s-arc[lo])/(arc[hi]-arc[lo])), lo
}

// arcs returns the length of the run up to each of its points.
func (u *run) arcs() []float64 {
	out := make([]float64, len(u.p))
	for i := 1; i < len(u.p); i++ {
		out[i] = out[i-1] + u.p[i].dist(u.p[i-1])
	}
	return out
}

// halfPlanes cuts a surface within reach of the frame's origin by the half
// plane of every degree of azimuth.
func (s *Site) halfPlanes(ctx context.Context, of *Surface, reach float64) ([][]run, error) {
	half := finishline.Sections / 2
	planes := make([]geom.Plane, half)
	for k := range planes {
		n := s.Frame.Z.Cross(s.Frame.Direction(float64(k))).Unit()
		planes[k] = geom.PlaneThrough(s.Frame.Origin, n)
	}
	lines := make([][]bvh.Polyline, half)
	if err := of.Tree.SectionAll(ctx, planes, s.Frame.Origin, reach, lines); err != nil {
		return nil, err
	}
	out := make([][]run, finishline.Sections)
	for k := range lines {
		dir := s.Frame.Direction(float64(k))
		for _, l := range lines[k] {
			w := s.inPlane(l, dir)
			out[k] = w.clip(out[k])
			w.mirror()
			out[k+half] = w.clip(out[k+half])
		}
	}
	return out, nil
}

// beside cuts a surface by planes parallel to the half plane of an azimuth, at
// the given distances to its left, and returns what lies on that side of the
// axis.
func (s *Site) beside(ctx context.Context, of *Surface, reach float64, azimuth int, offsets []float64) ([][]run, error) {
	dir := s.Frame.Direction(float64(azimuth))
	n := s.Frame.Z.Cross(dir).Unit()
	planes, lines := make([]geom.Plane, len(offsets)), make([][]bvh.Polyline, len(offsets))
	for i, y := range offsets {
		planes[i] = geom.PlaneThrough(s.Frame.Origin.Add(n.Mul(y)), n)
	}
	if err := of.Tree.SectionAll(ctx, planes, s.Frame.Origin, reach, lines); err != nil {
		return nil, err
	}
	out := make([][]run, len(offsets))
	for i := range lines {
		for _, l := range lines[i] {
			w := s.inPlane(l, dir)
			out[i] = w.clip(out[i])
		}
	}
	return out, nil
}

// inPlane brings a polyline into the coordinates of the plane that holds dir.
// A closed one is begun beyond the axis, so that clipping cuts it there, and
// comes back to its first point.
func (s *Site) inPlane(l bvh.Polyline, dir geom.Vec) run {
	n := len(l.Points)
	u := run{make([]flat, n, n+1), make([]int32, 0, n)}
	for i, p := range l.Points {
		d := p.Sub(s.Frame.Origin)
		u.p[i] = flat{d.Dot(dir), d.Dot(s.Frame.Z)}
	}
	u.facet = append(u.facet, l.Facets...)
	if !l.Closed || n == 0 {
		return u
	}
	first := 0
	for i := range u.p {
		if u.p[i].r < u.p[first].r {
			first = i
		}
	}
	u.p = append(append([]flat(nil), u.p[first:]...), u.p[:first]...)
	u.facet = append(append([]int32(nil), u.facet[first:]...), u.facet[:first]...)
	u.p = append(u.p, u.p[0])
	return u
}

// mirror turns the run into the coordinates of the opposite half plane.
func (u *run) mirror() {
	n := len(u.p)
	for i := range u.p {
		u.p[i].r = -u.p[i].r
	}
	for i, j := 0, n-1; i < j; i, j = i+1, j-1 {
		u.p[i], u.p[j] = u.p[j], u.p[i]
	}
	for i, j := 0, len(u.facet)-1; i < j; i, j = i+1, j-1 {
		u.facet[i], u.facet[j] = u.facet[j], u.facet[i]
	}
	// a closed run now begins on the near side: begin it beyond the axis again
	if n > 2 && u.p[0] == u.p[n-1] && u.p[0].r > 0 {
		first := 0
		for i := range n - 1 {
			if u.p[i].r < u.p[first].r {
				first = i
			}
		}
		u.p = append(append([]flat(nil), u.p[first:n-1]...), u.p[:first+1]...)
		u.facet = append(append([]int32(nil), u.facet[first:]...), u.facet[:first]...)
	}
}

// clip appends the pieces of the run on this side of the axis.
func (u *run) clip(dst []run) []run {
	var now run
	flush := func() {
		if len(now.p) > 1 {
			dst = append(dst, now)
		}
		now = run{}
	}
	for i, p := range u.p {
		if i > 0 {
			q := u.p[i-1]
			if (q.r >= 0) != (p.r >= 0) {
				cut := q.lerp(p, q.r/(q.r-p.r))
				cut.r = 0
				now.p = append(now.p, cut)
				if q.r >= 0 {
					now.facet = append(now.facet, u.facet[i-1])
					flush()
				}
			}
		}
		if p.r >= 0 {
			if len(now.p) > 0 {
				now.facet = append(now.facet, u.facet[i-1])
			}
			now.p = append(now.p, p)
		}
	}
	flush()
	return dst
}
