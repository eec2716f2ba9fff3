package measure

import (
	"context"
	"fmt"

	"crownassay/reading"
)

// noteCrossings notes where the shell passes through itself.
func (c *Crown) noteCrossings(ctx context.Context) error {
	cross, err := c.Shell.Tree.SelfCrossings(ctx)
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
