package report

import (
	"bytes"
	"context"
	"errors"
	"image"
	"image/color"
	"image/png"
	"math"
	"strings"

	"crownassay/assay"
	"crownassay/geom"
	"crownassay/internal/palette"
	"crownassay/internal/render"
	"crownassay/pdf"
	"crownassay/reading"
	"crownassay/record"
)

// frame is the tooth's frame: x toward azimuth 0, y toward 90, z occlusal.
type frame struct {
	o, x, y, z geom.Vec
	named      bool // x is mesial
}

func vec(p [3]float64) geom.Vec { return geom.V(p[0], p[1], p[2]) }

// drawer draws what a report shows of a case.
type drawer struct {
	m   *assay.Measured
	doc *record.Document
	f   frame
	top float64      // height of the tooth or its crown above the finish line, mm
	rim [360]float64 // distance of the finish line from the axis at each degree, mm
}

func newDrawer(m *assay.Measured, doc *record.Document) *drawer {
	f := doc.Frame
	d := &drawer{m: m, doc: doc, f: frame{vec(f.Origin), vec(f.Zero), vec(f.Turn), vec(f.Placement), f.Mesial != nil}}
	d.measureRim(m.Record.FinishLine)
	d.measureTop()
	return d
}

// measureRim notes how far the finish line lies from the axis all round.
func (d *drawer) measureRim(line []geom.Vec) {
	for i, p := range line {
		q := line[(i+1)%len(line)]
		steps := 1 + int(p.Sub(q).Norm()/0.02)
		for k := range steps {
			v := p.Add(q.Sub(p).Mul(float64(k) / float64(steps))).Sub(d.f.o).Reject(d.f.z)
			a := d.degree(v)
			d.rim[a] = math.Max(d.rim[a], v.Norm())
		}
	}
}

// measureTop notes how high the tooth stands within its finish line, or its
// crown.
func (d *drawer) measureTop() {
	for _, role := range []assay.Role{assay.Prepared, assay.Crown, assay.Finished} {
		m := d.m.Surface(role)
		if m == nil {
			continue
		}
		for _, p := range m.V {
			v := p.Sub(d.f.o)
			if z := v.Dot(d.f.z); z > d.top {
				if out := v.Reject(d.f.z); role != assay.Prepared || out.Norm() < d.rim[d.degree(out)] {
					d.top = z
				}
			}
		}
	}
}

// degree is the whole degree of azimuth of a direction.
func (d *drawer) degree(v geom.Vec) int {
	return int(math.Mod(math.Atan2(v.Dot(d.f.y), v.Dot(d.f.x))*180/math.Pi+360, 360)) % 360
}

// before tells what stands before the tooth for an eye in a direction: what
// lies on its side of the axis and farther beyond the finish line than low, or,
// above the height of shoulder, than high.
func (d *drawer) before(eye geom.Vec, low, high float64) func(geom.Vec) bool {
	return func(p geom.Vec) bool {
		v := p.Sub(d.f.o)
		reach := low
		if v.Dot(d.f.z) > shoulder {
			reach = high
		}
		v = v.Reject(d.f.z)
		return v.Dot(eye) > 0 && v.Norm() > d.rim[d.degree(v)]+reach
	}
}

// How far beyond the finish line surfaces are left standing before the tooth,
// mm: the root and gingiva beside the line; above the shoulder nothing of the
// neighbours, since a preparation lies within its line; and of the tooth from
// before its bulge and overhang.
const (
	shoulder   = 0.8
	besideLine = 0.5
	bulgeKept  = 1.2
)

// The pictures, pixels: fine enough for 300 dots an inch in a box of 56 mm.
var (
	small = image.Pt(680, 486)
	large = image.Pt(980, 610)
)

// steep is the sine of the height from which on the directions are written in.
const steep = 0.8

// What a picture spans, mm.
const (
	oneTooth   = 13.0
	threeTeeth = 19.0
	below      = 1.8 // mm that are shown below the finish line at least
	above      = 0.6 // and above the tooth
)

// lineColor is the page's accent.
var lineColor = color.RGBA{0x6a, 0x3d, 0x8a, 255}

// above looks along the placement axis, with azimuth 90 up.
func (d *drawer) above(span float64, px image.Point, solids ...render.Solid) render.Scene {
	return render.Scene{Solids: solids, Toward: d.f.z.Neg(), Up: d.f.y, Center: d.f.o, Span: span, Pixels: px}
}

// middle is the height of the middle of a picture from the side, mm above the
// finish line.
func (d *drawer) middle() float64 { return (d.top + above - below) / 2 }

// beside looks from an azimuth, so many degrees above the horizon; what stands
// before the tooth is cut away.
func (d *drawer) beside(azimuth, rise, span float64, px image.Point, solids ...render.Solid) render.Scene {
	sin, cos := math.Sincos(rise * math.Pi / 180)
	eye := d.out(azimuth).Mul(cos).Add(d.f.z.Mul(sin))
	for i := range solids {
		switch solids[i].Mesh {
		case d.m.Surface(assay.Prepared):
			solids[i].Cut = d.before(eye, besideLine, 0)
		case d.m.Surface(assay.Before):
			solids[i].Cut = d.before(eye, bulgeKept, bulgeKept)
		}
	}
	span = math.Max(span, (d.top+below+above)*float64(px.X)/float64(px.Y)) // a tall tooth needs more
	return render.Scene{Solids: solids, Toward: eye.Neg(), Up: d.f.z, Center: d.f.o.Add(d.f.z.Mul(d.middle())), Span: span, Pixels: px}
}

// out is the direction of an azimuth.
func (d *drawer) out(azimuth float64) geom.Vec {
	sin, cos := math.Sincos(azimuth * math.Pi / 180)
	return d.f.x.Mul(cos).Add(d.f.y.Mul(sin))
}

// finishLine is the curve that is drawn on prepared surfaces.
func (d *drawer) finishLine() render.Curve {
	return render.Curve{Points: d.m.Record.FinishLine, Closed: true, Width: 3, Color: lineColor}
}

// draw draws a scene with a ring at a place and the directions written in.
func (d *drawer) draw(ctx context.Context, s render.Scene, says string, ring *[3]float64) (*pdf.Picture, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	p, err := render.Draw(s)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	if err := png.Encode(&b, p.Image); err != nil {
		return nil, err
	}
	out := &pdf.Picture{PNG: b.Bytes(), Width: s.Pixels.X, Height: s.Pixels.Y, Says: says}
	share := func(q geom.Vec) [2]float64 {
		x, y := p.Pixel(q)
		return [2]float64{x / float64(s.Pixels.X), y / float64(s.Pixels.Y)}
	}
	if ring != nil {
		r := share(vec(*ring))
		out.Ring = &r
	}
	if d.f.named && math.Abs(s.Toward.Unit().Dot(d.f.z)) > steep {
		for i, name := range []string{"M", "B", "D", "L"} {
			reach := 0.44 * s.Span
			if math.Abs(d.out(90*float64(i)).Dot(s.Up)) > 0.7 {
				reach *= float64(s.Pixels.Y) / float64(s.Pixels.X)
			}
			out.Letters = append(out.Letters, pdf.Label{At: share(s.Center.Add(d.out(90 * float64(i)).Mul(reach))), Text: name})
		}
	}
	return out, nil
}

// surface is a role's surface; nil where the case has none.
func (d *drawer) surface(role assay.Role) *render.Solid {
	m := d.m.Surface(role)
	if m == nil {
		return nil
	}
	return &render.Solid{Mesh: m}
}

// roleOf is the surface that a reading is of.
func roleOf(id reading.ID) assay.Role {
	switch {
	case strings.HasPrefix(string(id), "crown."):
		return assay.Crown
	case strings.HasPrefix(string(id), "finished."):
		return assay.Finished
	case strings.HasPrefix(string(id), "existing."):
		return assay.Before
	}
	return assay.Prepared
}

// shownBy is the reading whose map shows another one that has none.
var shownBy = map[reading.ID]reading.ID{
	"crown.strength.radial":    "crown.thickness.occlusal",
	"finished.strength.radial": "finished.thickness.occlusal",

	"preparation.convergence.mesiodistal":  wallMap,
	"preparation.convergence.buccolingual": wallMap,
}

// wallMap shows the angle of each wall to the axis. Limits of a convergence,
// which is that of two walls together, are none of it.
const wallMap = reading.ID("preparation.convergence.mean")

// mapped colours a surface by a reading's map, where there is one.
func (d *drawer) mapped(ctx context.Context, s *render.Solid, role assay.Role, id reading.ID) (*pdf.Scale, error) {
	if other, ok := shownBy[id]; ok {
		id = other
	}
	q := d.doc.Reading(id)
	v, err := d.m.Map(ctx, role, id)
	if errors.Is(err, assay.ErrNoMap) || q == nil {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	found := palette.Range{Min: math.Inf(1), Max: math.Inf(-1)}
	for _, x := range v {
		if !math.IsNaN(x) {
			found.Min, found.Max = math.Min(found.Min, x), math.Max(found.Max, x)
		}
	}
	if found.Min > found.Max {
		return nil, nil
	}
	k := &pdf.Scale{}
	var lo, hi *float64
	if q.Limit != nil && id != wallMap {
		lo, hi = q.Limit.Min, q.Limit.Max
		for _, e := range []*float64{lo, hi} {
			if e != nil {
				k.Limits = append(k.Limits, *e)
			}
		}
	}
	s.Values, s.Limits, s.Span = v, k.Limits, palette.RangeFor(found, lo, hi)
	k.Min, k.Max = s.Span.Min, s.Span.Max
	for _, kind := range d.m.Maps() {
		if kind.Reading == id && kind.Role == role {
			k.Unit, k.Says = kind.Unit, kind.Says
		}
	}
	return k, nil
}
