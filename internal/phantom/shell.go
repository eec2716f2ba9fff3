package phantom

import (
	"context"
	"math"
	"math/rand/v2"

	"crownassay/geom"
	"crownassay/mesh"
)

// part is the inner part of a sheet, up to the running length end.
type part struct {
	sheet
	end float64
}

func (p part) span() float64               { return p.end }
func (p part) edge() (float64, bool)       { return 0, false }
func (p part) point(a, q float64) geom.Vec { return p.sheet.point(a, math.Min(q, p.end)) }

// shell builds the closed surface of a crown for the prepared tooth: outside
// the natural crown, inside the preparation, joined at the finish line.
func (m *model) shell(ctx context.Context, h float64, rng *rand.Rand) (*mesh.Mesh, error) {
	t := m.target
	inner := newPrepSheet(t.prep)
	outer := newNatural(t.crown.level, 0.4*t.crown.length, t.prep.finish, t.cell.at)
	out := &mesh.Mesh{}
	var rim row
	n := int(30 / h)
	for i := range n {
		a := -math.Pi + 2*math.Pi*(float64(i)+0.5)/float64(n)
		rim.az = append(rim.az, a)
		rim.index = append(rim.index, int32(i))
		out.V = append(out.V, t.frame.toArch(t.prep.point(a, uFinish)))
	}
	turned := t.frame.leftHanded()
	for i, s := range []part{{outer, outer.crownQ * 0.985}, {inner, inner.from[segRoot] * 0.99}} {
		rings := plan(s, perimeters(s), h, false)
		b := row{rim.az, append([]int32{}, rim.index...)}
		first := int32(len(out.V))
		for k := range b.index {
			b.index[k] -= first
		}
		w, _, err := weave(ctx, s, rings, b, rng, false)
		if err != nil {
			return nil, err
		}
		appendTurned(out, w, &t.frame, turned != (i == 1))
	}
	return out, nil
}
