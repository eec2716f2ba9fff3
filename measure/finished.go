package measure

import (
	"context"
	"math"
	"slices"

	"crownassay/geom"
	"crownassay/reading"
)

// deviationReach is how far, mm, the finished surface may be from its design
// to be compared with it: more is another surface, such as a sprue's stump.
const deviationReach = 1.0

// Deviation compares the crown as made, registered to the design, with the
// design: the signed distances of its surface.
func (c *Crown) Deviation(ctx context.Context, made *Surface) ([]reading.Reading, error) {
	const rms, p95 = "finished.deviation.rms", "finished.deviation.p95"
	var spots []spot
	pieces(made, spotArea, func(p geom.Vec, area float64) { spots = append(spots, spot{point: p, area: area}) })
	g, err := gaps(ctx, c.Shell, spots, true)
	if err != nil {
		return nil, err
	}
	g = slices.DeleteFunc(g, func(x sample) bool { return math.Abs(x.value) > deviationReach })
	sum, all := 0.0, 0.0
	for i := range g {
		sum, all = sum+g[i].value*g[i].value*g[i].area, all+g[i].area
		g[i].value = math.Abs(g[i].value)
	}
	if all < seenShare*total(spots) {
		why := "the finished surface does not lie over the design"
		return []reading.Reading{unmeasured(rms, why), unmeasured(p95, why)}, nil
	}
	parts := c.lengthParts(100, 0)
	at, _ := areaBelow(g, 0.95*all)
	return []reading.Reading{{ID: rms, Value: math.Sqrt(sum / all), Parts: parts},
		{ID: p95, Value: at.value, At: c.placeOf(spots[at.i].point), Parts: parts}}, nil
}

// AsMade turns the readings of a crown into those of the crown as made, whose
// place has the standard uncertainty given, mm.
func AsMade(rs []reading.Reading, place float64) []reading.Reading {
	out := make([]reading.Reading, 0, len(rs))
	for _, r := range rs {
		m, ok := reading.Find(reading.AsMade(r.ID))
		if !ok {
			continue
		}
		r.ID = m.ID
		if r.Measured() && m.Unit == "mm" {
			r.Parts = append(slices.Clone(r.Parts), reading.Part{Name: "registration", Standard: place})
		}
		out = append(out, r)
	}
	return out
}
