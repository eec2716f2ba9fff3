package desk

import (
	"context"
	"errors"
	"fmt"

	"crownassay/assay"
	"crownassay/geom"
	"crownassay/reading"
	"crownassay/record"
	"crownassay/web"
)

// Mesh returns the surface of a role as it was measured.
func (d *Desk) Mesh(ctx context.Context, id int64, role string) (web.Mesh, error) {
	m, tag, err := d.opened(ctx, id)
	if err != nil {
		return web.Mesh{}, err
	}
	s := m.Surface(assay.Role(role))
	if s == nil {
		return web.Mesh{}, fmt.Errorf("find the %s surface of case %d: %w", role, id, record.ErrNotFound)
	}
	return drawable(s, tag+"-"+role), nil
}

// Maps lists the readings that can be shown on a surface.
func (d *Desk) Maps(ctx context.Context, id int64) ([]web.MapInfo, error) {
	m, _, err := d.opened(ctx, id)
	if err != nil {
		return nil, err
	}
	var out []web.MapInfo
	for _, k := range m.Maps() {
		out = append(out, web.MapInfo{Reading: k.Reading, Role: string(k.Role), Unit: k.Unit, Says: k.Says})
	}
	return out, nil
}

// Map returns a reading's value at each vertex of Mesh.
func (d *Desk) Map(ctx context.Context, id int64, role string, r reading.ID) ([]float32, error) {
	m, _, err := d.opened(ctx, id)
	if err != nil {
		return nil, err
	}
	v, err := m.Map(ctx, assay.Role(role), r)
	if errors.Is(err, assay.ErrNoMap) {
		return nil, fmt.Errorf("%w: %w", err, record.ErrNotFound)
	}
	if err != nil {
		return nil, err
	}
	out := make([]float32, len(v))
	for i, x := range v {
		out[i] = float32(x)
	}
	return out, nil
}

// Slice cuts all surfaces of a case.
func (d *Desk) Slice(ctx context.Context, id int64, c web.Cut) (web.Section, error) {
	m, _, err := d.opened(ctx, id)
	if err != nil {
		return web.Section{}, err
	}
	var s *assay.Slice
	if c.Azimuth != nil {
		s, err = m.SliceAt(ctx, *c.Azimuth)
	} else {
		s, err = m.SliceBy(ctx, c.Point, c.Normal)
	}
	if err != nil {
		return web.Section{}, err
	}
	out := web.Section{Origin: s.Origin, Right: s.Right, Up: s.Up}
	for _, l := range s.Lines {
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
		doc, err := document(h.base.Record)
		return web.Redrawn{Document: doc, Points: h.base.Record.FinishLine}, err
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
	m, snapped, again, err := h.base.Redraw(ctx, points)
	if err != nil {
		return err
	}
	doc, err := document(m.Record)
	if err != nil {
		return err
	}
	h.drawn = drawing{fmt.Sprint(snapped), m, web.Redrawn{Document: doc, Points: snapped, Again: again}}
	return nil
}
