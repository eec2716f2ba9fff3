package measure

import (
	"context"
	"errors"
	"fmt"
	"math"

	"crownassay/align"
	"crownassay/geom"
	"crownassay/reading"
)

// How a crown is found again in a scan of the arch with it on. Lengths mm.
const (
	seatedReach = 1.0  // it sits no farther from its designed place
	seatedNear  = 0.2  // its surface in the scan is this near to the crown's: errors of making it and of both scans
	seatedShare = 0.3  // of the outer surface that a scan in the mouth shows at least
	seatedPiece = 0.15 // what lies this near to the crown in its place is the crown, not a neighbour
)

// The readings of a seated crown.
const (
	seatedRise     = "seated.rise"
	seatedTilt     = "seated.tilt"
	seatedMesial   = "seated.contact.mesial"
	seatedDistal   = "seated.contact.distal"
	seatedOcclusal = "seated.contact.occlusal"
)

// NoSeated is every reading of a seated crown, unmeasured for one reason.
func NoSeated(why string) []reading.Reading {
	var out []reading.Reading
	for _, id := range []reading.ID{seatedRise, seatedTilt, seatedMesial, seatedDistal, seatedOcclusal} {
		out = append(out, unmeasured(id, why))
	}
	return out
}

// Seated makes the readings of how the crown sits in a scan of the arch with it
// on, registered to the prepared arch; place is the standard uncertainty, mm,
// of that.
func (c *Crown) Seated(ctx context.Context, arch *Surface, place float64) ([]reading.Reading, error) {
	start := geom.Still()
	r, err := align.RegisterTo(ctx, c.Cameo.Mesh, arch.Tree, align.Options{Start: &start, Reach: seatedReach, Near: seatedNear, LeastOverlap: seatedShare, LeaveWithin: -1, AllowOpen: true})
	var no *align.RefusedError
	if errors.As(err, &no) {
		return NoSeated(fmt.Sprintf("the crown is not found in the scan of it on the tooth (%s: %s)", no.Stop, no.Why)), nil
	}
	if err != nil {
		return nil, err
	}
	out := c.sits(r.Motion, math.Hypot(place, r.Spread()))
	there := c.placed(r.Motion)
	for _, side := range []struct {
		id      reading.ID
		azimuth int
		name    string
	}{{seatedMesial, 0, "mesial"}, {seatedDistal, 180, "distal"}} {
		q, err := there.proximal(ctx, side.id, side.azimuth, side.name)
		if err != nil {
			return nil, err
		}
		if q.Measured() {
			q.Parts = append(q.Parts, reading.Part{Name: "registration", Standard: math.Hypot(place, r.Spread())})
			q.Note += "; by the crown's own surface in the place where it sits, since a scan does not see between teeth that touch: confirm it with floss or foil"
		}
		out = append(out, q)
	}
	bite, err := c.seatedBite(ctx, arch, r.Motion, place)
	return append(out, bite), err
}

// placed is the crown moved by g. Sections stay those of the place it was
// designed for: it moves by tenths of a millimetre.
func (c *Crown) placed(g geom.Rigid) *Crown {
	moved := *c
	moved.Cameo = NewSurface(c.Cameo.Mesh.Move(g))
	if c.Intaglio != nil {
		moved.Intaglio = NewSurface(c.Intaglio.Mesh.Move(g))
	}
	return &moved
}

// sits reads how far a motion lifts the margin edge along the axis of
// placement, in the mean, and by which angle it tilts the crown.
func (c *Crown) sits(g geom.Rigid, spread float64) []reading.Reading {
	rise, n, most, at := 0.0, 0.0, math.Inf(-1), -1
	reach := 0.0
	for k := range c.EdgeR {
		if p, ok := c.EdgePoint(k); ok {
			d := g.Apply(p).Sub(p).Dot(c.Frame.Z)
			rise, n, reach = rise+d, n+1, reach+c.EdgeR[k]
			if d > most {
				most, at = d, k
			}
		}
	}
	p, _ := c.EdgePoint(at)
	tilt := math.Atan2(g.Turn(c.Frame.Z).Cross(c.Frame.Z).Norm(), g.Turn(c.Frame.Z).Dot(c.Frame.Z)) * 180 / math.Pi
	parts := append(c.lengthParts(100, 0), reading.Part{Name: "registration", Standard: spread})
	return []reading.Reading{
		{ID: seatedRise, Value: rise / n, At: c.place(at, p), Parts: parts, Note: fmt.Sprintf("most of all %.3f mm", most),
			Subs: []reading.Sub{{Name: "largest rise at the margin", Value: most, Unit: "mm", At: c.place(at, p)}}},
		{ID: seatedTilt, Value: tilt, At: c.place(at, p), Parts: []reading.Part{{Name: "registration", Standard: spread / (reach / n) * 180 / math.Pi}}},
	}
}

// seatedBite is the contact of the scanned crown with the opposing teeth: of
// the part of the scan that lies on the crown in its place.
func (c *Crown) seatedBite(ctx context.Context, arch *Surface, g geom.Rigid, place float64) (reading.Reading, error) {
	cameo := NewSurface(c.Cameo.Mesh.Move(g))
	near := func(p geom.Vec) bool {
		_, ok := cameo.Tree.Closest(p, seatedPiece)
		return ok
	}
	m := arch.Mesh
	var keep [][3]int32
	for f, t := range m.F {
		x, y, z := m.Corner(int32(f))
		if x.Dist(c.Frame.Origin) < crownReach && near(x) && near(y) && near(z) {
			keep = append(keep, t)
		}
	}
	one := Crown{Site: c.Site, Cameo: NewSurface(compact(m, keep)), EdgeR: c.EdgeR, EdgeZ: c.EdgeZ}
	r, err := one.occlusalContact(ctx)
	r.ID = seatedOcclusal
	if r.Measured() {
		r.Parts = append(r.Parts, reading.Part{Name: "registration", Standard: place})
	}
	return r, err
}
