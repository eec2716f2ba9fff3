package phantom

import (
	"math"

	"crownassay/geom"
)

// The marginal ridge of a tooth towards its neighbour, seen from above: on
// every line towards the neighbour, the crest is the first highest point from
// the proximal side inward that the height falls from by ridgeDrop again,
// within ridgeReach of where the tooth begins. The ridge is the lowest crest of
// the lines within ridgeSide to either side of the middle: the saddle between
// the cusps. Heights are along the placement axis.
const (
	ridgeDrop  = 0.05 // mm
	ridgeReach = 3.0  // mm
	ridgeSide  = 2.0  // mm
)

// ridges fills the steps between the crown's marginal ridges and those beside
// them; positive where the crown is higher.
func (f *findings) ridges(r *restoration) {
	for i, id := range []string{"ridge.step.mesial", "ridge.step.distal"} {
		if r.sides[i] == nil || f.m.target.slot <= 3 { // front teeth have none
			continue
		}
		own := relief{&f.s.cuts[180*i], 1, r.out.level}
		other := relief{own.cut, -1, f.m.besideLevel(r.sides[i].teeth[0])}
		a, ok := own.ridge(f.sections[180*i].flat.r + 3)
		f.ridge[i] = math.NaN()
		if ok {
			f.ridge[i] = a.z
		}
		b, yes := other.ridge(f.sections[180*i].flat.r - 2)
		if ok && yes {
			f.t.Readings[f.prefix+id] = a.z - b.z
			f.t.Places[f.prefix+id] = triple(f.m.toFile(own.point(a.r, a.y, a.z)))
		}
	}
}

// level is negative inside the restored tooth.
func (o *cameo) level(p geom.Vec) float64 {
	p.Z -= o.nat.centre
	r := p.Norm()
	return r - o.along(math.Atan2(p.Y, p.X), math.Asin(p.Z/r), r)
}

// besideLevel is the level of another tooth at points of the tooth's frame.
func (m *model) besideLevel(n *tooth) func(geom.Vec) float64 {
	s := n.sheet.(*natural)
	return func(p geom.Vec) float64 { return s.level(n.frame.toTooth(m.target.frame.toArch(p))) }
}

// relief is a tooth seen from above on lines in the direction of a section:
// from the proximal side inward r falls on the crown's side of the contact
// (sign 1) and rises on the neighbour's (sign -1).
type relief struct {
	*cut
	sign  float64
	level func(geom.Vec) float64
}

// spot3 is a place outward, sideways and along the axis.
type spot3 struct{ r, y, z float64 }

func (v *relief) point(r, y, z float64) geom.Vec {
	return v.s.origin.Add(v.d.Mul(r)).Add(v.n.Mul(y)).Add(v.s.axis.Mul(z))
}

// ridge is the lowest crest: the lowest of some lines, then the lowest place
// of the parabola through it and the two beside it. Where the outermost line
// has the lowest crest there is no saddle. start is outside the tooth on the
// proximal side.
func (v *relief) ridge(start float64) (spot3, bool) {
	const step = 0.2
	n := int(math.Round(ridgeSide / step))
	crests := make([]spot3, 2*n+1)
	low := 0
	for i := range crests {
		c, ok := v.crest(start, float64(i-n)*step)
		if !ok {
			c.z = math.Inf(1)
		}
		crests[i] = c
		if c.z < crests[low].z {
			low = i
		}
	}
	best := crests[low]
	if math.IsInf(best.z, 1) || low == 0 || low == 2*n {
		return best, false
	}
	if a, b := crests[low-1].z, crests[low+1].z; !math.IsInf(a+b, 1) {
		if c, ok := v.crest(start, best.y+step/2*(a-b)/(a-2*best.z+b)); ok && c.z < best.z {
			best = c
		}
	}
	return best, true
}

// crest is the first crest on the line at y.
func (v *relief) crest(start, y float64) (spot3, bool) {
	const step = 0.05
	top, began := spot3{z: math.Inf(-1)}, math.NaN()
	for k := range int(3 * ridgeReach / step) {
		r := start - v.sign*step*float64(k)
		z, in := v.column(r, y, top.z)
		if !in {
			continue
		}
		if math.IsNaN(began) {
			began = r
		}
		if math.Abs(r-began) > ridgeReach {
			break
		}
		if z > top.z {
			top = spot3{r, y, z}
		}
		if z < top.z-ridgeDrop {
			d, h := golden(func(d float64) float64 { z, _ := v.column(top.r+d, y, top.z); return z }, step)
			return spot3{top.r + d, y, h}, true
		}
	}
	return spot3{z: math.Inf(1)}, false
}

// column is the height at which the line along the axis enters the tooth from
// above, looked for from near a known height where there is one.
func (v *relief) column(r, y, near float64) (float64, bool) {
	at := func(z float64) float64 { return v.level(v.point(r, y, z)) }
	hi, floor := 13.0, 1.0
	if !math.IsInf(near, 0) {
		hi, floor = near+0.6, near-2
	}
	for hi > floor && at(hi) > 0 {
		hi -= 0.2
	}
	if hi <= floor {
		return 0, false
	}
	lo, hi := hi, hi+0.2
	flo, fhi := at(lo), at(hi)
	for range 60 {
		if hi-lo < 1e-9 {
			break
		}
		z := lo + (hi-lo)*math.Min(0.95, math.Max(0.05, flo/(flo-fhi)))
		if f := at(z); f < 0 {
			lo, flo = z, f
		} else {
			hi, fhi = z, f
		}
		if math.Min(-flo, fhi) < 1e-9 {
			break
		}
	}
	if -flo < fhi {
		return lo, true
	}
	return hi, true
}
