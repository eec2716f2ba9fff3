package report

import (
	"context"
	"fmt"
	"image/color"
	"math"
	"strings"

	"crownassay/assay"
	"crownassay/internal/palette"
	"crownassay/meshio"
	"crownassay/reading"
)

// toothColor is that of vertices without a value, as in the pictures.
var toothColor = color.RGBA{230, 224, 217, 255}

// Colored gives the surface of a reading with its values as colours; an empty
// id takes the first finding that can be shown.
func Colored(ctx context.Context, m *assay.Measured, id reading.ID) (*meshio.Colored, error) {
	_, d, err := begin(m, Options{})
	if err != nil {
		return nil, err
	}
	if id == "" {
		if id, err = d.firstShown(); err != nil {
			return nil, err
		}
	}
	role := roleOf(id)
	s := d.surface(role)
	if s == nil || d.doc.Reading(id) == nil {
		return nil, d.cannot(id)
	}
	scale, err := d.mapped(ctx, s, role, id)
	if err != nil {
		return nil, err
	}
	if scale == nil {
		return nil, d.cannot(id)
	}
	out := &meshio.Colored{Mesh: s.Mesh, Values: s.Values, Name: string(id), Unit: scale.Unit, Up: d.f.z, Right: d.f.x, Colors: make([]color.RGBA, len(s.Values))}
	for i, v := range s.Values {
		out.Colors[i] = toothColor
		if !math.IsNaN(v) {
			out.Colors[i] = palette.At((v - scale.Min) / (scale.Max - scale.Min))
		}
	}
	return out, nil
}

// firstShown is the first finding that has a map of its own, else the first map.
func (d *drawer) firstShown() (reading.ID, error) {
	maps := d.m.Maps()
	for _, q := range choose(d.doc) {
		for _, k := range maps {
			if k.Reading == q.ID {
				return q.ID, nil
			}
		}
	}
	if len(maps) == 0 {
		return "", d.cannot("any reading")
	}
	return maps[0].Reading, nil
}

// cannot says what can be shown instead.
func (d *drawer) cannot(id reading.ID) error {
	var can []string
	for _, k := range d.m.Maps() {
		can = append(can, string(k.Reading))
	}
	return &NotShown{fmt.Sprintf("show %s on a surface: this case has no values of it at each vertex; it has them of %s", id, strings.Join(can, ", "))}
}

// NotShown says that a reading cannot be shown on a surface, and which can.
type NotShown struct{ text string }

func (n *NotShown) Error() string { return n.text }
