package phantom

import (
	"math"

	"crownassay/geom"
)

// The profile's segments from the occlusal centre outward; the parameter u of
// a profile point is the segment plus the share of that segment run through.
const (
	segOcclusal = iota // centre to the start of the line angle
	segLine            // rounded occlusoaxial line angle, a circular arc
	segWall            // straight axial wall
	segFillet          // inner fillet, a circular arc
	segLedge           // straight ledge of a shoulder; a chamfer has none
	segRoot            // root below the finish line
	segFloor           // sulcus floor
	segSulcus          // gingival wall of the sulcus
	segCrest           // gingival crest
	segGum             // gingiva to the border of the tooth's cell
	segEnd
)

// uFinish is the parameter of the finish line.
const uFinish = float64(segRoot)

// prep is a prepared tooth with its sulcus and gingiva in the tooth's frame.
type prep struct {
	radius   series  // of the finish line
	finish   sides   // height of the finish line
	width    *band   // of the finish line
	taper    series  // inclination of the walls, radians
	corner   series  // height where wall and occlusal line would meet
	rise     series  // inclination of the occlusal line, inward up, radians
	centre   float64 // height of the occlusal centre
	round    *band   // radius of the line angle
	shoulder bool
	fillet   float64 // shoulder: radius of the inner fillet; chamfer: radius / width
	sulcus   sides   // depth of the root below the finish line
	crest    sides   // height of the gingival crest above the finish line
	dents    []dent
	spurs    []spur
	smears   []arc
	border   func(a float64) (r, z float64)
}

// band is a value round the tooth with local changes that fade out smoothly.
type band struct {
	base sides
	arcs []arc
}

// arc blends the value to another one over its extent.
type arc struct{ azimuth, extent, value float64 }

func (b *band) at(a float64) float64 {
	v := b.base.at(a)
	for _, c := range b.arcs {
		d := math.Abs(turn(a - c.azimuth))
		w := step((c.extent/2 + 0.2 - d) / 0.2)
		v += w * (c.value - v)
	}
	return v
}

// dent is a hollow in the wall: depth towards the axis at the middle of the
// wall, azimuth and half extent in radians.
type dent struct{ azimuth, half, depth float64 }

// spur is a cusp left too high.
type spur struct{ azimuth, half, height float64 }

// section is everything that one azimuth's profile is made of.
type section struct {
	end     [segEnd + 1]point2 // ends of the segments
	cLine   point2             // centres and radii of the arcs
	rLine   float64
	cFillet point2
	rFillet float64
	cFloor  point2
	rFloor  float64
	cCrest  point2
	rCrest  float64
	a2, a3  float64 // occlusal cubic
	dents   float64 // depth of the hollow at this azimuth
}

// point2 is a place (r outward, z up) in the half plane of an azimuth.
type point2 struct{ r, z float64 }

func (p point2) add(d point2, t float64) point2 { return point2{p.r + d.r*t, p.z + d.z*t} }

// polar returns the unit direction at the angle above outward.
func polar(angle float64) point2 {
	s, c := math.Sincos(angle)
	return point2{c, s}
}

// section works out the profile at azimuth a.
func (p *prep) section(a float64) section {
	s := p.prepared(a)
	p.gum(&s, a, s.end[segRoot])
	return s
}

// prepared works out the profile at azimuth a down to the finish line.
func (p *prep) prepared(a float64) section {
	var s section
	t := p.taper.at(a)
	f := point2{p.radius.at(a), p.finish.at(a)}
	s.end[segRoot] = f
	w := p.width.at(a)
	p.foot(&s, f, w, t)
	p.top(&s, a, point2{f.r - w, f.z}, t)
	for _, d := range p.dents {
		s.dents += d.depth * bump(turn(a-d.azimuth)/d.half)
	}
	return s
}

// foot sets fillet and ledge between the wall's line through (f.r - w, f.z)
// and the finish line f.
func (p *prep) foot(s *section, f point2, w, t float64) {
	up, out := point2{-math.Sin(t), math.Cos(t)}, point2{math.Cos(t), math.Sin(t)}
	base := point2{f.r - w, f.z}
	if !p.shoulder {
		// The arc touches the wall at the distance k above the base and passes
		// through f: k^2 + 2 w k sin t + w^2 - 2 w rho cos t = 0.
		rho := p.fillet * w
		k := -w*math.Sin(t) + math.Sqrt(2*w*rho*math.Cos(t)-w*w*math.Cos(t)*math.Cos(t))
		s.end[segFillet] = base.add(up, k)
		s.cFillet, s.rFillet = s.end[segFillet].add(out, rho), rho
		s.end[segLedge] = f
		return
	}
	// Ledge level: the fillet touches it and the wall, which include 90 deg + t.
	rho := math.Min(p.fillet, 0.45*w)
	k := rho * math.Tan((math.Pi/2-t)/2)
	s.end[segFillet] = base.add(up, k)
	s.cFillet, s.rFillet = s.end[segFillet].add(out, rho), rho
	s.end[segLedge] = point2{f.r - w + k, f.z}
}

// top sets the line angle and the occlusal cubic; base is the wall's line at
// the height of the finish line.
func (p *prep) top(s *section, a float64, base point2, t float64) {
	h := p.corner.at(a)
	for _, q := range p.spurs {
		h += q.height * bump(turn(a-q.azimuth)/q.half)
	}
	g := p.rise.at(a)
	corner := point2{base.r - (h-base.z)*math.Tan(t), h}
	rho := p.round.at(a)
	k := rho * math.Tan((math.Pi/2-t-g)/2)
	s.end[segWall] = corner.add(point2{math.Sin(t), -math.Cos(t)}, k)
	s.cLine, s.rLine = s.end[segWall].add(point2{math.Cos(t), math.Sin(t)}, -rho), rho
	q := corner.add(point2{-math.Cos(g), math.Sin(g)}, k)
	s.end[segLine] = q
	s.end[segOcclusal] = point2{0, p.centre}
	m := -math.Tan(g) * q.r
	s.a3 = m - 2*(q.z-p.centre)
	s.a2 = q.z - p.centre - s.a3
}

// gum sets root, sulcus, crest and gingiva; everything shrinks where the
// border is near.
func (p *prep) gum(s *section, a float64, f point2) {
	br, bz := p.border(a)
	room := math.Max(0.12, math.Min(1, (br-f.r)/1.5))
	root := -math.Pi/2 - 0.10
	s.rFloor = 0.22 * room
	s.end[segFloor] = f.add(polar(root), p.sulcus.at(a))
	s.cFloor = s.end[segFloor].add(polar(root+math.Pi/2), s.rFloor)
	lean := math.Pi/2 - 0.25*room - 0.05
	s.end[segSulcus] = s.cFloor.add(polar(lean-math.Pi/2), s.rFloor)
	s.rCrest = 0.30 * room
	top := f.z + p.crest.at(a)
	run := math.Max(0.1, (top-s.rCrest-s.end[segSulcus].z)/math.Sin(lean))
	s.end[segCrest] = s.end[segSulcus].add(polar(lean), run)
	s.cCrest = s.end[segCrest].add(polar(lean-math.Pi/2), s.rCrest)
	s.end[segGum] = s.cCrest.add(polar(math.Pi/2-0.35), s.rCrest)
	s.end[segEnd] = point2{br, bz}
}

// at returns the profile point with parameter u.
func (s *section) at(u float64) point2 {
	k := min(max(int(u), 0), segEnd-1)
	v := u - float64(k)
	switch k {
	case segOcclusal:
		return point2{s.end[segLine].r * v, s.end[segOcclusal].z + v*v*(s.a2+v*s.a3)}
	case segLine:
		return onArc(s.cLine, s.rLine, s.end[k], s.end[k+1], v)
	case segFillet:
		return onArc(s.cFillet, s.rFillet, s.end[k], s.end[k+1], v)
	case segFloor:
		return onArc(s.cFloor, s.rFloor, s.end[k], s.end[k+1], v)
	case segCrest:
		return onArc(s.cCrest, s.rCrest, s.end[k], s.end[k+1], v)
	case segGum:
		return s.outer(v)
	}
	q := point2{s.end[k].r + v*(s.end[k+1].r-s.end[k].r), s.end[k].z + v*(s.end[k+1].z-s.end[k].z)}
	if k == segWall && s.dents != 0 {
		q.r -= s.dents * bump((v-0.5)/0.3)
	}
	return q
}

// onArc runs the shorter way from a to b on the circle about c.
func onArc(c point2, r float64, a, b point2, v float64) point2 {
	a0 := math.Atan2(a.z-c.z, a.r-c.r)
	d := turn(math.Atan2(b.z-c.z, b.r-c.r) - a0)
	return c.add(polar(a0+v*d), r)
}

// outer is the cubic from the crest to the border.
func (s *section) outer(v float64) point2 {
	return gumCurve(s.end[segGum], s.end[segEnd], math.Pi/2-0.35-math.Pi/2, v)
}

// gumCurve is a Bezier curve from a, leaving at the given angle, to b, where
// it arrives level across a papilla and steep at a low border.
func gumCurve(a, b point2, leave, v float64) point2 {
	w := b.r - a.r
	p1 := a.add(polar(leave), 0.35*w)
	p2 := point2{b.r - 0.3*w, b.z + 0.45*math.Max(0, a.z-b.z-0.3*w)}
	q := 1 - v
	b0, b1, b2, b3 := q*q*q, 3*q*q*v, 3*q*v*v, v*v*v
	return point2{b0*a.r + b1*p1.r + b2*p2.r + b3*b.r, b0*a.z + b1*p1.z + b2*p2.z + b3*b.z}
}

// point returns the surface point at azimuth a and profile parameter u.
func (p *prep) point(a, u float64) geom.Vec {
	if u <= uFinish {
		s := p.prepared(a)
		return s.place(a, u)
	}
	s := p.section(a)
	return s.place(a, u)
}

func (s *section) place(a, u float64) geom.Vec {
	q := s.at(u)
	sn, cs := math.Sincos(a)
	return geom.Vec{X: q.r * cs, Y: q.r * sn, Z: q.z}
}
