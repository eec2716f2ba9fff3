package assay

import (
	"context"
	"fmt"

	"crownassay/internal/par"
	"crownassay/measure"
)

// distinct refuses a case that gives one file, byte for byte, in two roles.
func distinct(c *Case, ls map[Role]*loaded) error {
	for i, a := range c.Surfaces {
		for _, b := range c.Surfaces[:i] {
			if ls[a.Role].info.SHA256 == ls[b.Role].info.SHA256 {
				return sameError(c, ls[b.Role], ls[a.Role], "have the same content")
			}
		}
	}
	return nil
}

// notTwice refuses a case whose opposing surface is the prepared arch once
// more, written in another way, or holds it.
func notTwice(ctx context.Context, c *Case, ls map[Role]*loaded, prepared, opposing *measure.Surface) error {
	if opposing == nil {
		return nil
	}
	var there, back float64
	if err := par.Together(ctx,
		func() error { there = lyingOn(opposing, prepared); return nil },
		func() error { back = lyingOn(prepared, opposing); return nil }); err != nil {
		return err
	}
	if there >= repeated || back >= repeated {
		return sameError(c, ls[Prepared], ls[Opposing], "show the same surface")
	}
	return nil
}

func sameError(c *Case, a, b *loaded, how string) error {
	return fmt.Errorf("check the surfaces of %s: %s, given as %s, and %s, given as %s, %s; give each role its own scan",
		c.Path, a.source.File, a.source.Role, b.source.File, b.source.Role, how)
}

// When one surface is there again in another.
const (
	repeated   = 0.25 // share of the vertices that lie on the other surface: arches in a bite touch in spots, a few percent
	onSurface  = 0.02 // mm: within this a vertex lies on the other surface; a scan that was meshed again is off by its facets' sag
	sameCosine = 0.9  // cosine of the angle between the two surfaces there, either way round
	sameSpots  = 1000 // vertices looked at, spread over the file
)

// lyingOn returns the share of the vertices of a that lie on b.
func lyingOn(a, b *measure.Surface) float64 {
	step := max(1, len(a.Mesh.V)/sameSpots)
	on, all := 0, 0
	for i := 0; i < len(a.Mesh.V); i, all = i+step, all+1 {
		h, ok := b.Tree.Closest(a.Mesh.V[i], onSurface)
		own, seen := a.Tree.Closest(a.Mesh.V[i], onSurface)
		if !ok || !seen {
			continue
		}
		if c := b.Tree.FeatureNormal(h).Dot(a.Tree.FeatureNormal(own)); c > sameCosine || c < -sameCosine {
			on++
		}
	}
	return float64(on) / float64(max(1, all))
}
