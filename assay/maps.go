package assay

import (
	"context"
	"errors"
	"fmt"

	"crownassay/measure"
	"crownassay/mesh"
	"crownassay/reading"
)

// MapKind is a reading that can be shown on a surface: a value at each vertex.
type MapKind struct {
	Reading reading.ID
	Role    Role
	Unit    string // mm or deg
	Says    string // what the value is
	values  func(context.Context, *Measured) ([]float64, error)
}

// ErrNoMap says that a reading cannot be shown on a surface of this case.
var ErrNoMap = errors.New("the reading cannot be shown on this surface")

// Maps lists what can be shown of the case, in the order of the readings.
func (m *Measured) Maps() []MapKind {
	var out []MapKind
	for _, k := range mapKinds {
		if m.shows(k) {
			out = append(out, k)
		}
	}
	return out
}

// shows reports whether the case has what a map is made of.
func (m *Measured) shows(k MapKind) bool {
	for i := range m.readings {
		if m.readings[i].ID == k.Reading {
			return m.readings[i].Measured() && m.ls[k.Role] != nil
		}
	}
	return false
}

// Map returns a reading's value at each vertex of the surface of a role as
// [Measured.Surface] gives it; NaN where it has none.
func (m *Measured) Map(ctx context.Context, role Role, id reading.ID) ([]float64, error) {
	for _, k := range m.Maps() {
		if k.Role != role || k.Reading != id {
			continue
		}
		v, err := k.values(ctx, m)
		if v != nil || err != nil {
			return v, err
		}
	}
	return nil, fmt.Errorf("show %s on the %s surface: %w", id, role, ErrNoMap)
}

// Surface returns the mesh of a role as it was measured: in millimetres,
// turned outward and brought to the others. Nil where there is none.
func (m *Measured) Surface(role Role) *mesh.Mesh {
	if l := m.ls[role]; l != nil {
		return l.mesh
	}
	return nil
}

var mapKinds = append([]MapKind{
	{"preparation.undercut.depth", Prepared, "mm", "how far the wall lies nearer the axis than a place above it",
		func(_ context.Context, m *Measured) ([]float64, error) { return m.site.UndercutDepths(), nil }},
	{"preparation.undercut.area", Prepared, "deg", wallAngle, wallAngles},
	{"preparation.placement.window", Prepared, "deg", wallAngle, wallAngles},
	{"preparation.convergence.mean", Prepared, "deg", wallAngle, wallAngles},
	{"preparation.clearance.occlusal", Prepared, "mm", "distance to the opposing teeth",
		func(ctx context.Context, m *Measured) ([]float64, error) {
			return m.site.OverPreparation(ctx, m.site.Opposing, true)
		}},
	{"preparation.reduction.occlusal", Prepared, "mm", removed, reductions},
	{"preparation.reduction.axial", Prepared, "mm", removed, reductions},
	{"finished.deviation.rms", Finished, "mm", "distance from the design, outside positive", deviations},
	{"finished.deviation.p95", Finished, "mm", "distance from the design, outside positive", deviations},
}, crownKinds()...)

const (
	wallAngle = "angle of the wall to the placement axis, negative where it is undercut"
	removed   = "distance to the surface from before"
)

func wallAngles(_ context.Context, m *Measured) ([]float64, error) { return m.site.WallAngles(), nil }

func reductions(ctx context.Context, m *Measured) ([]float64, error) {
	return m.site.OverPreparation(ctx, m.site.Before, false)
}

func deviations(ctx context.Context, m *Measured) ([]float64, error) {
	return m.design.Deviations(ctx, m.ls[Finished].mesh)
}

// crownKinds are the maps of the crown as designed and, under their own ids,
// as made.
func crownKinds() []MapKind {
	type of = func(context.Context, *measure.Crown, *mesh.Mesh) ([]float64, error)
	contact := func(azimuth int) of {
		return func(ctx context.Context, c *measure.Crown, on *mesh.Mesh) ([]float64, error) {
			return c.ContactDistances(ctx, on, azimuth)
		}
	}
	thick := func(occlusal bool) of {
		return func(ctx context.Context, c *measure.Crown, on *mesh.Mesh) ([]float64, error) {
			return c.Thicknesses(ctx, on, occlusal)
		}
	}
	fit := of(func(ctx context.Context, c *measure.Crown, on *mesh.Mesh) ([]float64, error) { return c.Fits(ctx, on) })
	var out []MapKind
	for _, k := range []struct {
		id   reading.ID
		says string
		of   of
	}{
		{"crown.thickness.occlusal", "thickness", thick(true)},
		{"crown.thickness.axial", "thickness", thick(false)},
		{"crown.fit.internal.mean", "distance to the preparation, negative within it", fit},
		{"crown.fit.interference", "distance to the preparation, negative within it", fit},
		{"crown.contact.mesial", "distance to the neighbouring tooth, negative within it", contact(0)},
		{"crown.contact.distal", "distance to the neighbouring tooth, negative within it", contact(180)},
		{"crown.contact.occlusal", "distance to the opposing teeth, negative within them", contact(-1)},
	} {
		out = append(out, MapKind{k.id, Crown, "mm", k.says, func(ctx context.Context, m *Measured) ([]float64, error) {
			return k.of(ctx, m.design, m.ls[Crown].mesh)
		}}, MapKind{reading.AsMade(k.id), Finished, "mm", k.says, func(ctx context.Context, m *Measured) ([]float64, error) {
			return k.of(ctx, m.made, m.ls[Finished].mesh)
		}})
	}
	return out
}
