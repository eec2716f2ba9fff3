package measure

import (
	"fmt"
	"math"

	"crownassay/geom"
	"crownassay/reading"
)

// takeOff adds to the reading of a heavy contact of a crown as made how much
// to take off until the surfaces touch without pressing (a distance of 0), over
// which area, and the thickness that is left at the deepest place after it.
func (c *Crown) takeOff(r *reading.Reading, f *field, at geom.Vec) {
	if !c.Settings.Made || !(r.Value < 0) {
		return
	}
	amount := -r.Value
	area := f.touching(c.Cameo.Mesh, 0)
	place := c.placeOf(at)
	r.Subs = append(r.Subs, reading.Sub{Name: reading.TakeOff, Value: amount, Unit: "mm", At: place},
		reading.Sub{Name: "area to take off", Value: area, Unit: "mm^2"})
	r.Note += fmt.Sprintf("; until it touches without pressing, take off %.3f mm", amount)
	if place.HasAzimuth {
		r.Note += " in sector " + reading.Sector(place.Azimuth)
	}
	r.Note += fmt.Sprintf(" over %.2f mm2", area)
	left, ok := c.thicknessAt(at)
	if !ok {
		r.Note += "; the thickness left is not known: " + outerOnly
		return
	}
	r.Subs = append(r.Subs, reading.Sub{Name: reading.ThicknessLeft, Value: left - amount, Unit: "mm", At: place})
	r.Note += fmt.Sprintf(", which leaves %.2f mm of thickness there", left-amount)
}

// thicknessAt is the shortest distance from a point of the cameo to the
// intaglio.
func (c *Crown) thicknessAt(p geom.Vec) (float64, bool) {
	if c.Intaglio == nil {
		return 0, false
	}
	h, ok := c.Intaglio.Tree.Closest(p, math.Inf(1))
	if !ok {
		return 0, false
	}
	return c.Intaglio.foot(p, h).Dist(p), true
}
