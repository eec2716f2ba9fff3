package assay

import (
	"context"
	"errors"
	"fmt"
	"math"

	"crownassay/align"
	"crownassay/bvh"
	"crownassay/finishline"
	"crownassay/geom"
	"crownassay/mesh"
)

// Guess is what a surface may be, and what says so.
type Guess struct {
	Role Role // empty when nothing can be told
	Why  string
}

// Where surfaces are compared to guess their roles.
const (
	guessSpots = 400  // vertices looked at, spread over the surface
	together   = 0.3  // mm: a scan of the same arch in the same frame lies within this of the other
	samePart   = 0.4  // share of a surface that does so when it is of the same arch
	facesOther = -0.5 // cosine between mean directions of arches that bite on each other
	inBite     = 15.0 // mm: the middle of the opposing arch lies this near to the box of the prepared one
	capBulge   = 2.0  // a crown's outer surface is this many times what its margin spans: that of a hemisphere
)

// GuessRole says what a mesh, mm, may be beside the surfaces that are known
// already. A crown is a small shell, closed or with its margin as the only
// border; of two crowns the second is the one as made. An arch that faces the
// other way than the prepared one is the opposing one. A scan that lies on the
// prepared arch and shows no preparation is that from before. It is a guess
// from the geometry: someone confirms it.
func GuessRole(ctx context.Context, m *mesh.Mesh, known map[Role]*mesh.Mesh) (Guess, error) {
	if looksLikeCrown(m) {
		return guessCrown(known), nil
	}
	p := known[Prepared]
	if p != nil && facing(m, p) {
		return Guess{Opposing, "it faces the prepared arch"}, nil
	}
	n, err := preparationsOn(ctx, m)
	switch {
	case err != nil:
		return Guess{}, err
	case n == 1:
		return Guess{Prepared, "it shows a preparation"}, nil
	case n > 1 && p == nil:
		return Guess{Why: "several of its teeth look like a preparation"}, nil
	case looksLikeCap(m):
		return guessCrown(known), nil
	case p == nil:
		return Guess{Opposing, "it is an arch that shows no preparation"}, nil
	}
	if share := lyingNear(m, p); share >= samePart {
		return Guess{Before, fmt.Sprintf("%.0f %% of it lies on the prepared arch, and it does not show one preparation", 100*share)}, nil
	}
	return Guess{Why: "it lies apart from the prepared arch and does not show one preparation"}, nil
}

// guessCrown is the role of a small shell.
func guessCrown(known map[Role]*mesh.Mesh) Guess {
	if known[Crown] != nil {
		return Guess{Finished, "it is a small shell of a crown's size, and the case has its design"}
	}
	return Guess{Crown, "it is a small shell of a crown's size"}
}

// looksLikeCap reports whether a surface is the outer surface of a crown: one
// small shell whose only border is its margin, bulging far over it.
func looksLikeCap(m *mesh.Mesh) bool {
	size, a := m.Box().Size(), mesh.Adjacent(m)
	if math.Max(size.X, math.Max(size.Y, size.Z)) > crownSize {
		return false
	}
	if _, n := mesh.Shells(m, a); n != 1 || len(a.BorderLoops()) != 1 {
		return false
	}
	var across geom.Vec // vector area, which is that of what spans the border
	area := 0.0
	for f := range m.F {
		p, q, r := m.Corner(int32(f))
		n := q.Sub(p).Cross(r.Sub(p)).Mul(0.5)
		across, area = across.Add(n), area+n.Norm()
	}
	return area > capBulge*across.Norm()
}

// preparationsOn returns how many preparations are found on a surface, either
// way round: 0, 1, or 2 for several, as small front teeth may look.
func preparationsOn(ctx context.Context, m *mesh.Mesh) (int, error) {
	for _, turned := range []*mesh.Mesh{m, inverted(m)} {
		_, err := seekOn(ctx, &Case{}, &loaded{mesh: turned})
		var none *finishline.NotFoundError
		switch {
		case err == nil:
			return 1, nil
		case !errors.As(err, &none):
			return 0, err
		case none.Several:
			return 2, nil
		}
	}
	return 0, nil
}

// lyingNear returns the share of a's vertices that lie on b.
func lyingNear(a, b *mesh.Mesh) float64 {
	t := bvh.New(b)
	step := max(1, len(a.V)/guessSpots)
	on, all := 0, 0
	for i := 0; i < len(a.V); i, all = i+step, all+1 {
		if _, ok := t.Closest(a.V[i], together); ok {
			on++
		}
	}
	return float64(on) / float64(max(1, all))
}

// facing reports whether two arches lie in a bite: near each other, and each
// looking the other way.
func facing(a, b *mesh.Mesh) bool {
	if b.Box().Grow(inBite).DistSq(a.Box().Center()) > 0 {
		return false
	}
	na, nb := align.MeanNormal(a), align.MeanNormal(b)
	return na.Norm() > 0 && nb.Norm() > 0 && na.Unit().Dot(nb.Unit()) < facesOther
}
