package measure

import (
	"context"
	"slices"
	"strings"

	"crownassay/finishline"
	"crownassay/geom"
	"crownassay/reading"
)

// Dependent makes the readings of the preparation that depend on where its
// finish line runs, in the order of Preparation. Those of the scan and of the
// bite do not. The groups are made side by side: someone is waiting.
func (s *Site) Dependent(ctx context.Context) ([]reading.Reading, error) {
	return makeTogether(ctx, nil, s.groups()[2:])
}

// edges are the sharpest edges of all sections, with what they were found in.
type edges struct {
	profiles []finishline.Profile
	walls    []finishline.Wall
	half     float64
	bend     []float64
	at       []geom.Vec
}

// holds reports whether section k of a site is the one these were found in.
func (e *edges) holds(s *Site, k int, half float64) bool {
	return e != nil && e.half == half && &e.profiles[0] == &s.Profiles[0] && e.walls[k] == s.Walls[k]
}

// sharpestAll is sharpest for every section. A site that was copied to take
// another finish line looks only at the sections where that changed the wall.
func (s *Site) sharpestAll(half float64) ([]float64, []geom.Vec) {
	e := &edges{s.Profiles, s.Walls, half, make([]float64, finishline.Sections), make([]geom.Vec, finishline.Sections)}
	for k := range e.bend {
		if s.edges.holds(s, k, half) {
			e.bend[k], e.at[k] = s.edges.bend[k], s.edges.at[k]
			continue
		}
		e.bend[k], e.at[k] = s.sharpest(k, half)
	}
	s.edges = e
	return e.bend, e.at
}

// space is the readings of the space over the preparation, with the walls that
// bound it.
type space struct {
	profiles []finishline.Profile
	walls    []finishline.Wall
	readings []reading.Reading
}

// holds reports whether the readings are those of a site: its walls begin and
// end where they did, and its line runs outside of them and below their upper
// end, so that it bounds nothing of the occlusal surface. The axial reduction,
// for which there must be a surface from before, reaches down to the line.
func (o *space) holds(s *Site) bool {
	if o == nil || s.Before != nil || &o.profiles[0] != &s.Profiles[0] {
		return false
	}
	for k := range s.Walls {
		a, b := &o.walls[k], &s.Walls[k]
		if a.Ok != b.Ok || a.Edge != b.Edge || a.Inner != b.Inner || a.EdgeR != b.EdgeR || a.EdgeZ != b.EdgeZ {
			return false
		}
		if b.Ok && (s.Line.R[k] < b.EdgeR || s.Line.Z[k] > b.EdgeZ) {
			return false
		}
	}
	return true
}

// About returns the crown on the site of another finish line.
func (c *Crown) About(ctx context.Context, s *Site) (*Crown, error) {
	if s.Frame == c.Frame {
		out := *c // its sections are the same
		out.Site = s
		return &out, nil
	}
	out, err := CrownOf(ctx, s, c.Shell)
	if err != nil {
		return nil, err
	}
	out.Settings = c.Settings
	return out, nil
}

// Dependent makes the readings of the crown that depend on where the finish
// line runs: how its margin lies to it. Those of a crown of which only the
// outer surface is given stay unmeasured.
func (c *Crown) Dependent(ctx context.Context) ([]reading.Reading, error) {
	out := slices.DeleteFunc(c.Contour(), func(r reading.Reading) bool { return !strings.HasPrefix(string(r.ID), "crown.contour.overhang.") })
	if c.Open {
		return out, nil
	}
	g, err := c.marginalGaps(ctx)
	if err != nil {
		return nil, err
	}
	return append(append(c.marginalGap(g), c.discrepancy()), out...), nil
}
