package phantom

import (
	"math"

	"crownassay/geom"
)

// biteOverlap is how far the opposing teeth sink into their antagonists'
// level sets where they touch, mm.
const biteOverlap = 0.01

// biteRound is the rounding of the edges of the wear facets, mm.
const biteRound = 0.08

// worn returns the shape of an opposing tooth: its natural crown less the
// natural crowns of the prepared arch, so that the two arches touch in facets
// and never go deep. The lost crown of the prepared tooth is one of them, so
// the clearance over the preparation is what was reduced.
func worn(t *tooth, below *arch) func(geom.Vec) float64 {
	near := below.within(t.frame.o, 14)
	return func(p geom.Vec) float64 {
		own := t.crown.level(p)
		if own > 0.6 {
			return own
		}
		q := t.frame.toArch(p)
		other := math.Inf(1)
		for _, n := range near {
			if r := n.frame.toTooth(q); n.crown.couldHold(r) {
				other = math.Min(other, n.crown.level(r))
			}
		}
		return smoothMax(own, -(other + biteOverlap), biteRound)
	}
}

// within returns the teeth whose axes are nearer than r to p, seen from above.
func (a *arch) within(p geom.Vec, r float64) []*tooth {
	var out []*tooth
	for _, t := range a.teeth {
		if d := t.frame.o.Sub(p); math.Hypot(d.X, d.Y) < r {
			out = append(out, t)
		}
	}
	return out
}
