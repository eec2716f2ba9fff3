package phantom

import "math"

// The smear runs from this parameter of the fillet or ledge to this one of
// the gingival crest.
const (
	smearFrom = segFillet + 0.55
	smearTo   = segCrest + 0.5
)

// smeared is the profile with fluid lying over the finish line: a cubic that
// leaves and arrives along the tissue, so that no convex turn is left.
func (s *section) smeared(u float64) point2 {
	if u <= smearFrom || u >= smearTo {
		return s.at(u)
	}
	const e = 1e-4
	a, b := s.at(smearFrom), s.at(smearTo)
	a0, b1 := s.at(smearFrom-e), s.at(smearTo+e)
	l := (b.r - a.r) / 2
	da, db := a.from(a0), b1.from(b)
	v := (u - smearFrom) / (smearTo - smearFrom)
	p1, p2 := a.add(da, l), b.add(db, -l)
	q := 1 - v
	b0, c1, c2, b3 := q*q*q, 3*q*q*v, 3*q*v*v, v*v*v
	return point2{b0*a.r + c1*p1.r + c2*p2.r + b3*b.r, b0*a.z + c1*p1.z + c2*p2.z + b3*b.z}
}

// smear is how much fluid lies over the finish line at azimuth a, 0 to 1.
func (p *prep) smear(a float64) float64 {
	w := 0.0
	for _, c := range p.smears {
		d := math.Abs(turn(a - c.azimuth))
		w = max(w, step((c.extent/2-d)/0.12+0.5))
	}
	return w
}

// from returns the unit direction from a to p.
func (p point2) from(a point2) point2 {
	d := math.Hypot(p.r-a.r, p.z-a.z)
	return point2{(p.r - a.r) / d, (p.z - a.z) / d}
}
