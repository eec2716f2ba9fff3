package desk

import (
	"context"
	"fmt"

	"crownassay/assay"
	"crownassay/geom"
	"crownassay/reading"
	"crownassay/record"
	"crownassay/web"
)

// Mesh returns the surface of a role as it was measured.
func (d *Desk) Mesh(ctx context.Context, id int64, role string) (web.Mesh, error) {
	s, err := d.sight(ctx, id)
	if err != nil {
		return web.Mesh{}, err
	}
	return s.mesh(ctx, assay.Role(role))
}

// Maps lists the readings that can be shown on a surface.
func (d *Desk) Maps(ctx context.Context, id int64) ([]web.MapInfo, error) {
	s, err := d.sight(ctx, id)
	if err != nil {
		return nil, err
	}
	return s.maps(), nil
}

// Map returns a reading's value at each vertex of Mesh.
func (d *Desk) Map(ctx context.Context, id int64, role string, r reading.ID) ([]float32, error) {
	s, err := d.sight(ctx, id)
	if err != nil {
		return nil, err
	}
	return s.values(ctx, assay.Role(role), r)
}

// Slice cuts all surfaces of a case.
func (d *Desk) Slice(ctx context.Context, id int64, c web.Cut) (web.Section, error) {
	s, err := d.sight(ctx, id)
	if err != nil {
		return web.Section{}, err
	}
	at, err := s.sections(ctx)
	if err != nil {
		return web.Section{}, err
	}
	var cut *assay.Slice
	if c.Azimuth != nil {
		cut, err = at.At(ctx, *c.Azimuth)
	} else {
		cut, err = at.By(ctx, c.Point, c.Normal)
	}
	if err != nil {
		return web.Section{}, err
	}
	out := web.Section{Origin: cut.Origin, Right: cut.Right, Up: cut.Up}
	for _, l := range cut.Lines {
		out.Lines = append(out.Lines, web.SectionLine{Role: string(l.Role), Closed: l.Closed, Points: l.Points})
	}
	return out, nil
}

// Redraw measures anew what depends on the finish line; without points, about
// the traced one.
func (d *Desk) Redraw(ctx context.Context, id int64, points []geom.Vec) (web.Redrawn, error) {
	h := d.of(id)
	h.mu.Lock()
	defer h.mu.Unlock()
	in, err := d.input(ctx, id)
	if err != nil {
		return web.Redrawn{}, err
	}
	traced := len(points) == 0
	if h.base == nil || h.key != in.key || traced && h.line != 0 {
		if traced {
			in.line, in.c.FinishLine = record.Drawn{}, nil
		}
		if err := h.measure(ctx, in, assay.Options{}); err != nil {
			return web.Redrawn{}, err
		}
	}
	if traced {
		return web.Redrawn{Record: h.base.Record, Points: h.base.Record.FinishLine, Again: allOf(h.base.Record)}, nil
	}
	if err := h.draw(ctx, points); err != nil {
		return web.Redrawn{}, in.readable(err)
	}
	return h.drawn.answer, nil
}

// draw measures about a line, unless it is the newest one tried. The lock is
// held.
func (h *held) draw(ctx context.Context, points []geom.Vec) error {
	given := fmt.Sprint(points)
	if h.drawn.given == given {
		return nil
	}
	from := h.base
	if h.drawn.measured != nil {
		from = h.drawn.measured // nearer to the new line, so that less is made anew
	}
	m, snapped, again, err := from.Redraw(ctx, points)
	if err != nil {
		return err
	}
	h.drawn = drawing{fmt.Sprint(snapped), m, web.Redrawn{Record: m.Record, Points: snapped, Again: again}}
	return nil
}

// allOf lists the readings of a record.
func allOf(r *record.Record) []reading.ID {
	out := make([]reading.ID, len(r.Readings))
	for i := range r.Readings {
		out[i] = r.Readings[i].ID
	}
	return out
}
