package measure

import (
	"context"
	"fmt"
	"math"

	"crownassay/finishline"
	"crownassay/geom"
	"crownassay/reading"
)

// aboveMargin is how far above the crown margin, mm, the axial thickness
// begins (definition): nearer to it every crown runs thin.
const aboveMargin = 0.5

// outerOnly is why readings that need the inner surface are not made.
const outerOnly = "only the outer surface of the crown was given"

// Thickness makes the readings of how thick the crown is.
func (c *Crown) Thickness(ctx context.Context) ([]reading.Reading, error) {
	const occ, axi = "crown.thickness.occlusal", "crown.thickness.axial"
	if c.Open {
		why := outerOnly
		if d, err := c.toPreparation(ctx); err != nil {
			return nil, err
		} else if d != "" {
			why += "; " + d
		}
		return []reading.Reading{unmeasured(occ, why), unmeasured(axi, why)}, nil
	}
	if err := c.thicknesses(ctx); err != nil {
		return nil, err
	}
	var out []reading.Reading
	for _, part := range []struct {
		id   reading.ID
		of   *thick
		what string
	}{{occ, &c.occlusal, "occlusal"}, {axi, &c.axial, "axial"}} {
		m, ok := part.of.least()
		if !ok {
			out = append(out, unmeasured(part.id, "the crown has hardly any "+part.what+" surface"))
			continue
		}
		r := reading.Reading{ID: part.id, Value: m.value, At: c.placeOf(part.of.spots[m.i].point),
			Profile: c.lowestPerDegree(part.of.gaps, part.of.spots), Parts: c.designParts()}
		if b := border(part.of.gaps, m.value, func(i int) float64 { return part.of.spots[i].zone.rim }); b > 0 {
			r.Parts = append(r.Parts, reading.Part{Name: "border at the line angle", Standard: b})
		}
		out = append(out, r)
	}
	return out, nil
}

// thick is the distance to the intaglio from the spots of a part of the cameo.
type thick struct {
	spots []spot
	gaps  []sample
}

// border is the standard uncertainty of the least value for where a part ends
// at the line angle: what it changes by when that moves in by borderBlur. Inside
// says how far inside it a sample's place is, mm.
func border(all []sample, least float64, inside func(i int) float64) float64 {
	var in []sample
	for _, g := range all {
		if inside(g.i) > borderBlur {
			in = append(in, g)
		}
	}
	m, ok := robustMin(in)
	if !ok {
		return 0
	}
	return m.value - least
}

// least is the robust minimum.
func (t *thick) least() (sample, bool) { return robustMin(t.gaps) }

// thicknesses measures the two parts of the cameo, once.
func (c *Crown) thicknesses(ctx context.Context) (err error) {
	if c.occlusal.spots != nil {
		return nil
	}
	c.occlusal.spots, c.axial.spots = c.cameoSpots()
	for _, t := range []*thick{&c.occlusal, &c.axial} {
		if t.gaps, err = gaps(ctx, c.Intaglio, t.spots, false); err != nil {
			return err
		}
	}
	return nil
}

// designParts are the uncertainty parts of a length within the designed
// surface, which has no scan noise: only its facets.
func (c *Crown) designParts() []reading.Part {
	return []reading.Part{{Name: "sampling of the mesh", Standard: sagOf(c.spacing)}}
}

// toPreparation says how near an outer surface comes to the preparation.
func (c *Crown) toPreparation(ctx context.Context) (string, error) {
	occlusal, _ := c.cameoSpots()
	g, err := gaps(ctx, c.Prepared, occlusal, true)
	if err != nil {
		return "", err
	}
	m, ok := robustMin(g)
	if !ok {
		return "", nil
	}
	return fmt.Sprintf("its least occlusal distance to the preparation is %.2f mm, cement space included", m.value), nil
}

// cameoSpots divides the cameo into its occlusal part, above the height of
// the occlusoaxial line angle of the preparation, and its axial part from
// 0.5 mm above the crown margin to there. Their zone tells how far from the
// other part they are.
func (c *Crown) cameoSpots() (occlusal, axial []spot) {
	edge := bridged(c.EdgeZ)
	_, angle := c.along(func(w *finishline.Wall) (r, z float64) { return w.EdgeR, w.EdgeZ })
	pieces(c.Cameo, fineArea, func(p geom.Vec, area float64) {
		azimuth, _, z := c.Frame.Cylinder(p)
		k := wrap(int(math.Round(azimuth)))
		switch {
		case z > angle[k]:
			occlusal = append(occlusal, spot{p, area, k, zoned{rim: z - angle[k]}})
		case z > edge[k]+aboveMargin:
			axial = append(axial, spot{p, area, k, zoned{rim: angle[k] - z}})
		}
	})
	return occlusal, axial
}

// spotArea is the area, mm^2, of a spot whose sides are spotEdge long, and
// fineArea that of those which thicknesses are measured at, since they change
// most from place to place. Facets smaller than that share a spot: 0.05 mm^2 is
// still several.
const (
	spotArea = spotEdge * spotEdge / 2
	fineArea = spotArea / 2
)

// pieces calls put for pieces of the surface's facets, none longer than a
// spot, with the middle of each and its area. Of facets that are smaller than
// least, one stands for those before it in the mesh's order, which is that of
// nearness.
func pieces(s *Surface, least float64, put func(p geom.Vec, area float64)) {
	left := 0.0
	var cut func(f int32, a, b, c geom.Vec)
	cut = func(f int32, a, b, c geom.Vec) {
		if x, y, z, mid, long := halve(a, b, c); long {
			cut(f, x, mid, z)
			cut(f, mid, y, z)
			return
		}
		if left += geom.TriangleArea(a, b, c); left >= least {
			put(s.lifted(f, a.Add(b).Add(c).Mul(1.0/3)), left)
			left = 0
		}
	}
	for f := range s.Mesh.F {
		a, b, c := s.Mesh.Corner(int32(f))
		cut(int32(f), a, b, c)
	}
}
