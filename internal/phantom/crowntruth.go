package phantom

import (
	"context"
	"math"

	"crownassay/geom"
	"crownassay/internal/par"
)

// CrownTruth is what is known of a restoration beside its readings, in the
// coordinates of the written files.
type CrownTruth struct {
	Margin   [][3]float64   `json:"margin"`   // margin edge, 1440 points evenly in the formula's azimuth
	Sections []CrownSection `json:"sections"` // 360, as those of the preparation

	Contacts  map[string]ContactTruth `json:"contacts,omitempty"` // by the end of the reading's id
	Blank     *BlankTruth             `json:"blank,omitempty"`
	BindsAt   float64                 `json:"binds_at"`            // height above the seat of the least clearance on the way
	BindsOn   string                  `json:"binds_on,omitempty"`  // "preparation", "mesial" or "distal"
	Tool      float64                 `json:"tool,omitempty"`      // tip radius that tool.left stands for
	OwnPose   *geom.Rigid             `json:"own_pose,omitempty"`  // moves the case's frame to the file's, where it has its own
	Deviation *DeviationTruth         `json:"deviation,omitempty"` // of a milled copy
}

// CrownSection is the restoration in one half plane about the placement axis.
// Horizontal is positive where the crown reaches beyond the finish line,
// Vertical where its edge lies to the occlusal.
type CrownSection struct {
	Azimuth     float64    `json:"azimuth"`
	Margin      [3]float64 `json:"margin"`
	Gap         float64    `json:"gap"`
	Horizontal  float64    `json:"horizontal"`
	Vertical    float64    `json:"vertical"`
	Discrepancy float64    `json:"discrepancy"`
	Emergence   float64    `json:"emergence"`
	Bulge       float64    `json:"bulge"`
	BulgeHeight float64    `json:"bulge_height"` // above the margin edge along the axis
}

// contour is an outer surface cut by the sections of the survey.
type contour struct {
	out      *cameo
	s        *survey
	sections []contourCut
}

// contourCut is one section of an outer surface.
type contourCut struct {
	*cut
	out                 *cameo
	margin              geom.Vec
	flat                point2 // the margin edge in the section
	emergence           float64
	bulge, bulgeAt      float64
	shareHalf, shareTop float64 // shares of the way at 0.5 mm above the margin and at the line angle
}

// newContour cuts the outer surface 360 times.
func newContour(ctx context.Context, o *cameo, s *survey) (*contour, error) {
	c := &contour{out: o, s: s, sections: make([]contourCut, len(s.cuts))}
	err := par.Do(ctx, len(s.cuts), 4, func(lo, hi int) {
		for i := lo; i < hi; i++ {
			k := &c.sections[i]
			k.cut, k.out = &s.cuts[i], o
			k.margin = k.meet(func(a float64) geom.Vec { return spin(a, o.margin(a)) })
			k.flat = k.in2(k.margin)
			k.walk()
		}
	})
	return c, err
}

// meet solves for the point of a curve round the tooth that lies in the
// section's plane, by secants to 1e-12 mm.
func (c *cut) meet(f func(a float64) geom.Vec) geom.Vec {
	a0, a1 := c.guess, c.guess+1e-4
	p0, p1 := f(a0), f(a1)
	f0, f1 := p0.Sub(c.s.origin).Dot(c.n), p1.Sub(c.s.origin).Dot(c.n)
	for range 30 {
		if f1 == f0 || math.Abs(f1) < 1e-12 {
			break
		}
		a0, a1 = a1, a1-f1*(a1-a0)/(f1-f0)
		f0, p1 = f1, f(a1)
		f1 = p1.Sub(c.s.origin).Dot(c.n)
	}
	return p1
}

// in2 is a point of the section outward and along the axis.
func (c *cut) in2(p geom.Vec) point2 {
	d := p.Sub(c.s.origin)
	return point2{d.Dot(c.d), d.Dot(c.s.axis)}
}

// at is the section's profile at the share t.
func (k *contourCut) at(t float64) point2 {
	return k.in2(k.meet(func(a float64) geom.Vec { return k.out.at(a, t) }))
}

// The profile's sampling: fine over the emergence, coarser above.
const (
	emergenceReach = 1.0 // mm of profile, the definition's
	emergenceSteps = 40
	profileSteps   = 100
	marginBand     = 0.5 // mm above the margin where the axial surface begins, the definition's
)

// walk goes up the profile from the margin edge.
func (k *contourCut) walk() {
	k.rise()
	k.bulge = math.Inf(-1)
	last, t := k.flat, 1.0
	best := 1.0
	for i := 1; i < profileSteps; i++ {
		next := 1 - float64(i)/profileSteps
		q := k.at(next)
		if q.r-k.flat.r > k.bulge {
			k.bulge, best = q.r-k.flat.r, next
		}
		k.shareHalf = crossing(k.shareHalf, t, next, last.z, q.z, k.flat.z+marginBand)
		k.shareTop = crossing(k.shareTop, t, next, last.z, q.z, k.line.z)
		last, t = q, next
	}
	if k.bulge < 0 {
		k.bulge, k.bulgeAt = 0, 0
		return
	}
	d, _ := golden(func(d float64) float64 { return k.at(math.Min(1, best+d)).r }, 1.0/profileSteps)
	q := k.at(math.Min(1, best+d))
	k.bulge, k.bulgeAt = q.r-k.flat.r, q.z-k.flat.z
}

// crossing returns the share where the profile first passes the height z on
// the way up; known when it was found before.
func crossing(known, t0, t1, z0, z1, z float64) float64 {
	if known > 0 || z1 < z {
		return known
	}
	return t0 + (t1-t0)*(z-z0)/(z1-z0)
}

// rise fits the straight line to the first emergenceReach of the profile: the
// direction of the largest moment of its points by length.
func (k *contourCut) rise() {
	step := emergenceReach / k.out.runs
	var p [emergenceSteps*2 + 1]point2
	n, l := 0, 0.0
	p[0] = k.flat
	for n < len(p)-1 && l < emergenceReach {
		n++
		p[n] = k.at(1 - step*float64(n)/emergenceSteps)
		l += math.Hypot(p[n].r-p[n-1].r, p[n].z-p[n-1].z)
	}
	d := math.Hypot(p[n].r-p[n-1].r, p[n].z-p[n-1].z)
	p[n] = p[n-1].add(p[n].from(p[n-1]), math.Max(0, d-(l-emergenceReach)))
	k.emergence = lean(p[:n+1]) / degree
}

// lean is the inclination to the axis of the line of least squared distances
// to a polyline, outward positive.
func lean(p []point2) float64 {
	var w, r, z, rr, rz, zz float64
	each := func(f func(q point2, l float64)) {
		for i := 1; i < len(p); i++ {
			l := math.Hypot(p[i].r-p[i-1].r, p[i].z-p[i-1].z)
			f(p[i-1].add(point2{p[i].r - p[i-1].r, p[i].z - p[i-1].z}, 0.5), l)
		}
	}
	each(func(q point2, l float64) { w, r, z = w+l, r+l*q.r, z+l*q.z })
	r, z = r/w, z/w
	each(func(q point2, l float64) {
		rr, rz, zz = rr+l*(q.r-r)*(q.r-r), rz+l*(q.r-r)*(q.z-z), zz+l*(q.z-z)*(q.z-z)
	})
	angle := math.Atan2(2*rz, zz-rr) / 2 // from the axis to the line, outward
	return angle
}
