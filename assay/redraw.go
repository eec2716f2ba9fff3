package assay

import (
	"context"

	"crownassay/finishline"
	"crownassay/geom"
	"crownassay/measure"
	"crownassay/reading"
)

// Redraw measures the case with another finish line, given as closed points in
// the coordinates of the prepared surface, mm. What does not depend on it is
// kept: the surfaces, their registration, the readings of the scan and of the
// bite. The Measured it is called on stays as it is.
//
// It returns the case about that line, the points moved onto the surface, and
// the readings that were made again.
func (m *Measured) Redraw(ctx context.Context, pts []geom.Vec) (*Measured, []geom.Vec, []reading.ID, error) {
	at := *m.at
	found, snapped, err := finishline.Redrawn(ctx, m.at.scan, m.at.found, pts)
	if err != nil {
		return nil, nil, nil, err
	}
	at.found = found
	out := *m
	about := *m.site // with its surfaces and their search trees
	about.Found = found
	out.at, out.site = &at, measure.NewSite(about)
	again, err := out.dependent(ctx)
	if err != nil {
		return nil, nil, nil, err
	}
	out.readings = replaced(m.readings, again)
	ids := make([]reading.ID, len(again))
	for i := range again {
		ids[i] = again[i].ID
	}
	return &out, snapped, ids, out.judge()
}

// dependent makes the readings that depend on the finish line again, of the
// crowns too.
func (m *Measured) dependent(ctx context.Context) ([]reading.Reading, error) {
	again, err := m.site.Dependent(ctx)
	if err != nil {
		return nil, err
	}
	old, err := m.site.Existing(ctx)
	if err != nil {
		return nil, err
	}
	for _, c := range []**measure.Crown{&m.design, &m.made} {
		if *c == nil {
			continue
		}
		as := (*c).Settings.Made
		if *c, err = (*c).About(ctx, m.site); err != nil {
			return nil, err
		}
		rs, err := (*c).Dependent(ctx)
		if err != nil {
			return nil, err
		}
		if as {
			rs = measure.AsMade(rs, m.ls[Finished].registration)
		}
		again = append(again, rs...)
	}
	beside(m.c, old, m.design)
	return append(again, old...), nil
}

// replaced returns the readings with those made again in their places.
func replaced(rs, again []reading.Reading) []reading.Reading {
	by := make(map[reading.ID]reading.Reading, len(again))
	for _, r := range again {
		by[r.ID] = r
	}
	out := make([]reading.Reading, len(rs))
	for i, r := range rs {
		out[i] = r
		if n, ok := by[r.ID]; ok {
			out[i] = n
		}
	}
	return out
}
