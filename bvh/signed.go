package bvh

import (
	"math"

	"crownassay/geom"
	"crownassay/mesh"
)

// SignedHit is a nearest point with the side on which the query lies.
type SignedHit struct {
	Hit
	Dist float64 // mm, + outside, - inside
	// BeyondBorder: the nearest feature is on a border of an open sheet and
	// the query lies past it, not straight above or below it. The sign then
	// says little.
	BeyondBorder bool
}

func missedSigned() SignedHit { return SignedHit{Hit: missedHit(), Dist: math.Inf(1)} }

// Signed returns the nearest point within maxDist and the signed distance. The
// sign is that of the nearest feature's pseudonormal, which on closed shells
// is right for faces, edges and vertices alike.
func (t *Tree) Signed(p geom.Vec, maxDist float64) (SignedHit, bool) {
	h, ok := t.Closest(p, maxDist)
	if !ok {
		return missedSigned(), false
	}
	return t.sign(p, h), true
}

func (t *Tree) sign(p geom.Vec, h Hit) SignedHit {
	d := p.Sub(h.Point)
	s := SignedHit{Hit: h, Dist: math.Sqrt(h.DistSq)}
	if d.Dot(t.featureNormal(h)) < 0 {
		s.Dist = -s.Dist
	}
	s.BeyondBorder = t.beyond(d, h)
	return s
}

// FeatureNormal returns the unit pseudonormal of the feature that h lies on;
// zero if all its facets are without area.
func (t *Tree) FeatureNormal(h Hit) geom.Vec { return t.featureNormal(h).Unit() }

// featureNormal returns the pseudonormal, of any length.
func (t *Tree) featureNormal(h Hit) geom.Vec {
	switch {
	case h.Feature >= geom.FeatureFace:
		return geom.TriangleNormal(t.m.Corner(h.Facet))
	case h.Feature >= geom.FeatureEdge:
		return t.pseudo().edge(t.m, 3*h.Facet+int32(h.Feature-geom.FeatureEdge))
	}
	return t.pseudo().vertex[t.m.F[h.Facet][h.Feature]]
}

// pastBorder is the sine of the angle from the sheet's normal from which on a
// query counts as beyond a border; smaller ones are rounding.
const pastBorder = 1e-6

// beyond reports whether the offset d from a hit leads past a border.
func (t *Tree) beyond(d geom.Vec, h Hit) bool {
	if h.Feature >= geom.FeatureFace {
		return false
	}
	n := t.pseudo()
	var out geom.Vec
	if h.Feature >= geom.FeatureEdge {
		e := 3*h.Facet + int32(h.Feature-geom.FeatureEdge)
		if n.adj.Opposite[e] != mesh.Border {
			return false
		}
		out = n.conormal(t.m, e)
	} else {
		v := t.m.F[h.Facet][h.Feature]
		out = n.outward[v].Reject(n.vertex[v]).Unit()
	}
	return d.Dot(out) > pastBorder*d.Norm()
}
