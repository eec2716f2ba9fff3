package measure

import (
	"context"
	"fmt"
	"sync"

	"crownassay/reading"
)

// crossed are the facets of a surface that pass through others.
type crossed struct {
	sync.Mutex
	found  bool
	facets []int32
}

// Crossings returns the facets that pass through others, found once; the error
// is the context's.
func (s *Surface) Crossings(ctx context.Context) (facets []int32, err error) {
	s.crossed.Lock()
	defer s.crossed.Unlock()
	if !s.crossed.found {
		s.crossed.facets, err = s.Tree.SelfCrossings(ctx)
		s.crossed.found = err == nil
	}
	return s.crossed.facets, err
}

// noteCrossings notes where the shell passes through itself.
func (c *Crown) noteCrossings(ctx context.Context) error {
	cross, err := c.Shell.Crossings(ctx)
	if err != nil || len(cross) == 0 {
		return err
	}
	x, y, z := c.Shell.Mesh.Corner(cross[0])
	p := x.Add(y).Add(z).Mul(1.0 / 3)
	where := ""
	if at := c.placeOf(p); at.HasAzimuth {
		where = " in sector " + reading.Sector(at.Azimuth)
	}
	c.Notes = append(c.Notes, fmt.Sprintf("it crosses itself: %d of %d facets pass through others, the first at (%.2f, %.2f, %.2f)%s; what is measured there is not to be relied on: mend the design",
		len(cross), len(c.Shell.Mesh.F), p.X, p.Y, p.Z, where))
	return nil
}
