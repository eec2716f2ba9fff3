package finishline

import (
	"context"
	"math"

	"crownassay/align"
	"crownassay/geom"
)

// Redrawn measures with an operator's line on a preparation that was measured
// before: FromLine and AlongLine in one, begun at the frame that is there. The
// search for the axis leaves off at one of several frames that are as good, so
// the frame is kept, with its profiles, unless the line itself moves where the
// search would go on by more than settled: else every reading would shake
// while a point is dragged. It also returns the points, moved onto the
// surface.
func Redrawn(ctx context.Context, s Scan, f *Found, pts []geom.Vec) (*Found, []geom.Vec, error) {
	snapped, err := snap(s, pts)
	if err != nil {
		return nil, nil, err
	}
	g, err := alongLine(s, f.Frame, f.Profiles, snapped)
	if err != nil {
		return nil, nil, err
	}
	was := f.next()
	for range passes {
		next := g.next()
		if next.Z.Dot(was.Z) > math.Cos(settled*math.Pi/180) && next.Origin.Dist(was.Origin) < 0.3*settled {
			break
		}
		profiles, err := Cut(ctx, s, next, Reach)
		if err != nil {
			return nil, nil, err
		}
		if g, err = alongLine(s, next, profiles, snapped); err != nil {
			return nil, nil, err
		}
		was = next
	}
	return g, snapped, nil
}

// alongLine reads a snapped line on profiles that are cut about a frame.
func alongLine(s Scan, frame align.Frame, profiles []Profile, snapped []geom.Vec) (*Found, error) {
	c := newCurve()
	if err := c.read(frame, snapped); err != nil {
		return nil, err
	}
	w := turnWindow(s.Spacing)
	for k := range profiles {
		c.settle(&profiles[k], k, w, s)
	}
	c.judge(s, frame, profiles, w)
	g := build(s, frame, profiles, c)
	if g.wallShare() < leastWalls {
		return nil, errNoWalls
	}
	return g, nil
}
