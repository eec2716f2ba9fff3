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

// wearDepth is how far a tooth would sink into its antagonists if no facets
// were worn, mm.
const wearDepth = 0.15

// erupt moves the opposing back teeth along their axes until each meets its
// antagonists, the lost crown among them. Front teeth, which meet on their
// sides, stay where they are.
func (a *arch) erupt(below *arch) {
	for _, t := range a.teeth {
		if t.crown.front {
			continue
		}
		for range 6 {
			d := wearDepth - t.sunk(below)
			t.frame.o.Z -= math.Max(-0.4, math.Min(0.4, d))
		}
	}
}

// sunk is how deep the chewing surface of t goes into the teeth below.
func (t *tooth) sunk(below *arch) float64 {
	depth := math.Inf(-1)
	near := below.within(t.frame.o, 14)
	for x := -0.6; x <= 0.6; x += 0.05 {
		for y := -0.6; y <= 0.6; y += 0.05 {
			q := geom.Vec{X: x * t.crown.md / 2, Y: y * t.crown.bl / 2}
			q.Z = t.crown.relief(q.X, q.Y)
			p := t.frame.toArch(q)
			for _, n := range near {
				if r := n.frame.toTooth(p); n.crown.couldHold(r) {
					depth = math.Max(depth, -n.crown.level(r))
				}
			}
		}
	}
	return math.Max(-0.4, depth)
}

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
