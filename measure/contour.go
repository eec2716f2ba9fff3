package measure

import (
	"fmt"
	"math"
	"slices"

	"crownassay/finishline"
	"crownassay/geom"
	"crownassay/reading"
)

// emergenceArc is the length of cameo profile, mm, from the margin edge over
// which the emergence angle is fitted (definition).
const emergenceArc = 1.0

// contour is the outer outline of a crown in each section: its margin edge and
// the profile from there upward.
type contour struct {
	site   *Site
	edge   []flat // NaN where there is none
	upward [][]flat
	parts  []reading.Part
}

// Contour makes the readings of the crown's outer form.
func (c *Crown) Contour() []reading.Reading {
	o := contour{site: c.Site, edge: make([]flat, finishline.Sections), upward: make([][]flat, finishline.Sections), parts: c.lengthParts(4, 1)}
	for k := range o.edge {
		o.edge[k] = flat{c.EdgeR[k], c.EdgeZ[k]}
		o.upward[k] = reversed(c.cameo[k].p)
	}
	out := []reading.Reading{o.overhang("crown.contour.overhang.max", highest), o.overhang("crown.contour.overhang.min", lowest)}
	return append(out, o.emergence("crown.contour.emergence.max"), o.bulge("crown.contour.bulge.max"))
}

// reversed is a profile the other way round.
func reversed(p []flat) []flat {
	out := slices.Clone(p)
	slices.Reverse(out)
	return out
}

const noEdge = "no section shows the edge of the crown margin"

// overhang is how far the margin edge reaches outward beyond the finish line.
func (o *contour) overhang(id reading.ID, pick func([]float64) int) reading.Reading {
	v := make([]float64, len(o.edge))
	for k := range v {
		v[k] = math.NaN()
		if o.site.Line.Seen[k] {
			v[k] = o.edge[k].r - o.site.Line.R[k]
		}
	}
	return o.extreme(id, v, pick)
}

// extreme makes the reading of an extreme over the sections, at the margin
// edge of the section where it is.
func (o *contour) extreme(id reading.ID, v []float64, pick func([]float64) int) reading.Reading {
	smooth := o.site.quieted(v)
	k := pick(smooth)
	if k < 0 {
		return unmeasured(id, noEdge)
	}
	return reading.Reading{ID: id, Value: smooth[k], At: o.site.place(k, o.point(k, o.edge[k])), Profile: profile(v), Parts: o.parts}
}

// emergence is the angle between the placement axis and the line fitted to
// the first millimetre of profile above the margin edge, outward positive.
func (o *contour) emergence(id reading.ID) reading.Reading {
	v := make([]float64, len(o.edge))
	for k := range v {
		v[k] = math.NaN()
		if t, ok := leaning(o.upward[k], emergenceArc); ok {
			v[k] = t
		}
	}
	r := o.extreme(id, v, highest)
	r.Parts = []reading.Part{
		{Name: "sampling of the mesh", Standard: sagOf(o.site.Spacing) / emergenceArc * 180 / math.Pi},
		{Name: "choice of axis", Standard: 0.1}}
	return r
}

// leaning fits a straight line to the first length mm of a profile, by least
// squares of the distances square to it, and returns its angle to the axis in
// degrees, outward positive. The profile's segments are weighted by their
// length.
func leaning(p []flat, length float64) (deg float64, ok bool) {
	arc := (&run{p: p}).arcs()
	if len(p) == 0 || arc[len(arc)-1] < length-1e-9 {
		return 0, false
	}
	_, way := straight((&run{p: p}).between(arc, 0, length))
	return math.Atan2(way.r, way.z) * 180 / math.Pi, true
}

// between is the stretch of a profile from one running length to another.
func (u *run) between(arc []float64, from, to float64) []flat {
	a, i := u.at(arc, from)
	b, j := u.at(arc, to)
	out := []flat{a}
	for k := i; k < len(u.p) && k <= j; k++ {
		if arc[k] > from && arc[k] < to {
			out = append(out, u.p[k])
		}
	}
	return append(out, b)
}

// straight fits a straight line to a profile, by least squares of the distances
// square to it, its segments weighted by their length: a point of the line
// and the unit vector along it, from the profile's first point to its last.
func straight(p []flat) (mid, way flat) {
	var w float64
	for i := 1; i < len(p); i++ {
		l := p[i].dist(p[i-1])
		w, mid.r, mid.z = w+l, mid.r+l*(p[i-1].r+p[i].r)/2, mid.z+l*(p[i-1].z+p[i].z)/2
	}
	mid.r, mid.z = mid.r/w, mid.z/w
	var rr, rz, zz float64
	for i := 1; i < len(p); i++ {
		l, a, b := p[i].dist(p[i-1]), p[i-1].sub(mid), p[i].sub(mid)
		rr += l * (a.r*a.r + a.r*b.r + b.r*b.r) / 3
		zz += l * (a.z*a.z + a.z*b.z + b.z*b.z) / 3
		rz += l * (2*a.r*a.z + a.r*b.z + b.r*a.z + 2*b.r*b.z) / 6
	}
	along := math.Atan2(2*rz, rr-zz) / 2 // of the line, from the r axis
	way = flat{math.Cos(along), math.Sin(along)}
	if way.dot(p[len(p)-1].sub(p[0])) < 0 {
		way = flat{-way.r, -way.z}
	}
	return mid, way
}

// bulge is how far the profile reaches beyond the margin edge, square to the
// axis.
func (o *contour) bulge(id reading.ID) reading.Reading {
	v, high := make([]float64, len(o.edge)), make([]flat, len(o.edge))
	for k := range v {
		v[k] = math.NaN()
		for _, p := range o.upward[k] {
			if x := p.r - o.edge[k].r; !(x <= v[k]) {
				v[k], high[k] = x, p
			}
		}
	}
	r := o.extreme(id, v, highest)
	if r.Measured() {
		k := highest(o.site.quieted(v))
		up := high[k].z - o.edge[k].z
		r.At = o.site.place(k, o.point(k, high[k]))
		r.Subs = []reading.Sub{{Name: "height above the margin", Value: up, Unit: "mm"}}
		r.Note = fmt.Sprintf("%.1f mm above the crown margin", up)
	}
	return r
}

func (o *contour) point(k int, p flat) geom.Vec { return o.site.Frame.At(float64(k), p.r, p.z) }

// ContourAt returns the overhang, mm, and the emergence angle, degrees, of the
// crown at azimuth index k; NaN where they are not seen.
func (c *Crown) ContourAt(k int) (overhang, emergence float64) {
	k = wrap(k)
	emergence = math.NaN()
	if v, ok := leaning(reversed(c.cameo[k].p), emergenceArc); ok {
		emergence = v
	}
	return c.EdgeR[k] - c.Line.R[k], emergence
}
