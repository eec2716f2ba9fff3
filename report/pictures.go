package report

import (
	"context"
	"fmt"
	"math"
	"strings"

	"crownassay/assay"
	"crownassay/internal/render"
	"crownassay/pdf"
	"crownassay/reading"
	"crownassay/record"
)

// overview shows the preparation from above with the room over it, and the
// crown, where there is one, or the preparation from its side.
func (d *drawer) overview(ctx context.Context) ([]pdf.Picture, error) {
	top := d.surface(assay.Prepared)
	says := "The preparation from the occlusal, its finish line violet."
	scale, err := d.mapped(ctx, top, assay.Prepared, "preparation.clearance.occlusal")
	if err != nil {
		return nil, err
	}
	scene := d.above(threeTeeth, large, *top)
	scene.Curves = []render.Curve{d.finishLine()}
	a, err := d.draw(ctx, scene, says, nil)
	if err != nil {
		return nil, err
	}
	a.Scale = scale
	b, err := d.inPlace(ctx)
	if err != nil {
		return nil, err
	}
	return []pdf.Picture{*a, *b}, nil
}

// inPlace shows the tooth between its neighbours from its buccal side: with
// the crown as made or as designed, where there is one.
func (d *drawer) inPlace(ctx context.Context) (*pdf.Picture, error) {
	for _, c := range []struct {
		role assay.Role
		says string
	}{{assay.Finished, "The crown as made, in its place, from the buccal."}, {assay.Crown, "The crown as designed, in its place, from the buccal."}} {
		if s := d.surface(c.role); s != nil {
			scene := d.beside(90, 20, threeTeeth, large, *s, *d.surface(assay.Prepared))
			return d.draw(ctx, scene, c.says, nil)
		}
	}
	scene := d.beside(90, 25, threeTeeth, large, *d.surface(assay.Prepared))
	scene.Curves = []render.Curve{d.finishLine()}
	return d.draw(ctx, scene, "The preparation from the buccal, its finish line violet.", nil)
}

// plain are the pictures for the patient: without measured colours.
func (d *drawer) plain(ctx context.Context) ([]pdf.Picture, error) {
	a, err := d.draw(ctx, d.above(threeTeeth, large, *d.surface(assay.Prepared)), "Your prepared tooth, seen from above.", nil)
	if err != nil {
		return nil, err
	}
	b, err := d.inPlace(ctx)
	if err != nil {
		return nil, err
	}
	b.Says = "Your prepared tooth, seen from its side."
	if d.surface(assay.Crown) != nil || d.surface(assay.Finished) != nil {
		b.Says = "Your new crown in its place."
	}
	return []pdf.Picture{*a, *b}, nil
}

// finding draws a reading's picture and section.
func (d *drawer) finding(ctx context.Context, q *record.DocReading) (pdf.Finding, error) {
	f := pdf.Finding{Reading: q}
	azimuth, role := d.azimuth(q), roleOf(q.ID)
	s := d.surface(role)
	if s == nil {
		return f, nil
	}
	scale, err := d.mapped(ctx, s, role, q.ID)
	if err != nil {
		return f, err
	}
	scene, says := d.view(q.ID, azimuth, *s)
	if f.Picture, err = d.draw(ctx, scene, says, placeOf(q)); err != nil {
		return f, err
	}
	f.Picture.Scale = scale
	f.Slice, err = d.section(ctx, q, azimuth)
	return f, err
}

// azimuth is where a reading is looked at: at its place, or, of one of the whole
// tooth, across the walls that it compares.
func (d *drawer) azimuth(q *record.DocReading) float64 {
	switch {
	case q.At != nil:
		return azimuthOf(&d.f, q.At.Point)
	case strings.HasSuffix(string(q.ID), ".mesiodistal"):
		return 0
	}
	return 90
}

// placeOf is the place of a reading; nil for one of the whole tooth.
func placeOf(q *record.DocReading) *[3]float64 {
	if q.At == nil {
		return nil
	}
	return &q.At.Point
}

// view chooses from where a reading is best seen.
func (d *drawer) view(id reading.ID, azimuth float64, s render.Solid) (render.Scene, string) {
	name := d.side(azimuth)
	switch {
	case strings.Contains(string(id), ".fit."):
		return d.beside(azimuth+180, -38, oneTooth, small, s), "The inside of the crown, from below."
	case strings.HasSuffix(string(id), ".occlusal") || strings.HasSuffix(string(id), ".radial") || strings.HasSuffix(string(id), ".room"):
		scene := d.beside(azimuth, 62, oneTooth, small, s)
		scene.Solids[0].Cut = nil
		return d.lined(scene, id), "From the occlusal, the " + name + " side nearest."
	}
	scene := d.beside(azimuth, 25, oneTooth, small, s)
	return d.lined(scene, id), "From the " + name + " side."
}

// lined adds the finish line to a view of the preparation.
func (d *drawer) lined(s render.Scene, id reading.ID) render.Scene {
	if roleOf(id) == assay.Prepared {
		s.Curves = []render.Curve{d.finishLine()}
	}
	return s
}

// side names the side at an azimuth in words.
func (d *drawer) side(azimuth float64) string {
	if !d.f.named {
		return fmt.Sprintf("%.0f degree", azimuth)
	}
	return d.m.Record.Tooth.SectorWord(reading.Sector(azimuth))
}

// partner is the surface to which a reading's distance is taken; empty for none,
// and the surface itself for a thickness.
func partner(id reading.ID) assay.Role {
	s := string(id)
	switch {
	case strings.HasPrefix(s, "preparation.clearance"), strings.HasSuffix(s, ".contact.occlusal"):
		return assay.Opposing
	case strings.HasPrefix(s, "preparation.reduction"):
		return assay.Before
	case strings.Contains(s, ".fit."), strings.HasSuffix(s, ".contact.mesial"), strings.HasSuffix(s, ".contact.distal"):
		return assay.Prepared
	case strings.Contains(s, ".thickness."):
		return roleOf(id)
	}
	return ""
}

// section cuts at a reading's azimuth and marks its place and dimension.
func (d *drawer) section(ctx context.Context, q *record.DocReading, azimuth float64) (*pdf.Slice, error) {
	c, err := d.m.Sections().At(ctx, azimuth)
	if err != nil {
		return nil, err
	}
	out := &pdf.Slice{Says: fmt.Sprintf("Section at azimuth %.0f° (%s).", azimuth, d.side(azimuth)), Value: q.Plain(), Half: math.Max(6.4, 0.65*(d.top+below+above)), At: [2]float64{0, d.middle()}}
	for _, l := range c.Lines {
		out.Lines = append(out.Lines, pdf.SliceLine{Role: string(l.Role), Closed: l.Closed, Points: l.Points})
	}
	if q.At == nil {
		return out, nil
	}
	p := vec(q.At.Point).Sub(c.Origin)
	mark := [2]float64{p.Dot(c.Right), p.Dot(c.Up)}
	out.Mark, out.At, out.Half = &mark, mark, 4.6
	if role := partner(q.ID); role != "" && q.Value != nil && q.Unit == "mm" {
		out.Other = across(c, role, mark, *q.Value, role == roleOf(q.ID))
	}
	if out.Other != nil {
		out.Half = math.Min(4.6, math.Max(0.8, 4*math.Abs(*q.Value)))
		out.At = [2]float64{(mark[0] + out.Other[0]) / 2, (mark[1] + out.Other[1]) / 2}
	}
	return out, nil
}

// farthest is how far the other end of a dimension may lie from where the value
// says, mm: the section is flat, and the shortest way may lead out of it.
const farthest = 0.35

// across finds the other end of a dimension on a surface's lines: the nearest
// place, or, on the same surface, the nearest one that is not along it. Nil
// where none lies about as far away as the value says.
func across(c *assay.Slice, role assay.Role, p [2]float64, value float64, own bool) *[2]float64 {
	var best *[2]float64
	least := math.Inf(1)
	for _, l := range c.Lines {
		if l.Role != role {
			continue
		}
		along, beside := alongFrom(l, p)
		for i, q := range l.Points {
			if own && beside < 0.3*math.Abs(value) && along[i] < 2.5*math.Abs(value) {
				continue // it lies on this line, and so near only along it
			}
			if r := math.Hypot(q[0]-p[0], q[1]-p[1]); r < least {
				best, least = &[2]float64{q[0], q[1]}, r
			}
		}
	}
	if math.Abs(least-math.Abs(value)) > farthest {
		return nil
	}
	return best
}

// alongFrom is how far each point of a line lies along it from the one that is
// nearest to p, the shorter way round, and how far that one lies from p.
func alongFrom(l assay.SliceLine, p [2]float64) ([]float64, float64) {
	n := len(l.Points)
	at, start, least := make([]float64, n), 0, math.Inf(1)
	for i, q := range l.Points {
		if i > 0 {
			at[i] = at[i-1] + math.Hypot(q[0]-l.Points[i-1][0], q[1]-l.Points[i-1][1])
		}
		if r := math.Hypot(q[0]-p[0], q[1]-p[1]); r < least {
			start, least = i, r
		}
	}
	whole := at[n-1]
	if l.Closed {
		whole += math.Hypot(l.Points[0][0]-l.Points[n-1][0], l.Points[0][1]-l.Points[n-1][1])
	}
	out := make([]float64, n)
	for i := range out {
		out[i] = math.Abs(at[i] - at[start])
		if l.Closed {
			out[i] = math.Min(out[i], whole-out[i])
		}
	}
	return out, least
}

// old shows the restoration before where it stood out most; nil where nothing
// of it was measured.
func (d *drawer) old(ctx context.Context) (*pdf.Finding, error) {
	for _, id := range []reading.ID{"existing.contour.overhang.max", "existing.contour.bulge.max", "existing.contour.emergence.max"} {
		q, s := d.doc.Reading(id), d.surface(assay.Before)
		if q == nil || q.Value == nil || q.At == nil || s == nil {
			continue
		}
		azimuth := azimuthOf(&d.f, q.At.Point)
		f := &pdf.Finding{Reading: q}
		var err error
		scene := d.beside(azimuth, 15, oneTooth, small, *s)
		if f.Picture, err = d.draw(ctx, scene, "The restoration before, from the "+d.side(azimuth)+" side. Ring: "+strings.ToLower(q.Name)+".", &q.At.Point); err != nil {
			return nil, err
		}
		if f.Slice, err = d.section(ctx, q, azimuth); err != nil {
			return nil, err
		}
		f.Slice.Half = 3.2
		return f, nil
	}
	return nil, nil
}
