package measure

import (
	"context"
	"fmt"
	"math"

	"crownassay/bvh"
	"crownassay/geom"
	"crownassay/reading"
	"crownassay/unit"
)

// Where the preparation may meet material that the tool leaves. Lengths mm.
const (
	leftFrom = 0.003 // what is left to a lesser depth is the facets' doing
	leftNear = 0.5   // preparation farther than this from such a place of the intaglio does not meet it
)

// ofOpening is what the smaller facets and the places of the ball leave.
var ofOpening = reading.Part{Name: "opening by a ball", Standard: (refineTo + openSlack) / math.Sqrt(3)}

// Tool makes the reading of what the milling tool must leave in the cavity.
func (c *Crown) Tool(ctx context.Context) ([]reading.Reading, error) {
	const id = "crown.tool.left"
	if c.Open {
		return []reading.Reading{unmeasured(id, outerOnly)}, nil
	}
	o := opening{c.Shell.Tree, c.Settings.tool()}
	l, err := o.leftAt(ctx, probes(c.Intaglio), nil)
	if err != nil {
		return nil, err
	}
	if l, err = c.closely(ctx, l); err != nil {
		return nil, err
	}
	i, depth, err := l.deepest(ctx)
	if err != nil {
		return nil, err
	}
	if i < 0 {
		return []reading.Reading{unmeasured(id, fmt.Sprintf("a tool of %s mm radius does not enter the cavity", trim(o.r)))}, nil
	}
	r := reading.Reading{ID: id, Value: math.Max(0, depth), Parts: append(c.designParts(), ofOpening)}
	if depth < leftFrom {
		r.Note = fmt.Sprintf("a tool of %s mm radius reaches the whole cavity", trim(o.r))
		return []reading.Reading{r}, nil
	}
	r.At = c.placeOf(l.probes[i].p)
	r.Note = fmt.Sprintf("a tool of %s mm radius", trim(o.r))
	err = c.meetsLeft(ctx, l, &r)
	return []reading.Reading{r}, err
}

// closely looks again at what facets do not let the ball reach, on the surface
// that they stand for: chords of a hollow edge keep out a ball hardly smaller
// than it. Where the ball cuts into facets by less than counts, they are taken
// to be reached.
func (c *Crown) closely(ctx context.Context, l *leftover) (*leftover, error) {
	var hard []geom.Vec
	for i, p := range l.probes {
		if l.into[i] > leftFrom/2 {
			hard = append(hard, p.p)
		}
	}
	if len(hard) == 0 {
		return l, nil
	}
	near := cellsWithin(2*l.o.r+leftNear, hard) // there the balls for these and for the preparation touch
	var again []probe
	for _, p := range l.probes {
		if near.hold(p.p) {
			again = append(again, p)
		}
	}
	fine := opening{bvh.New(c.Intaglio.refined(near.meet)), l.o.r}
	return fine.leftAt(ctx, again, nil)
}

// meetsLeft compares what is left with the preparation: how deep that stands
// in it, negative where the cement space takes it up.
func (c *Crown) meetsLeft(ctx context.Context, l *leftover, r *reading.Reading) error {
	near, err := c.besideLeft(ctx, l)
	if err != nil || len(near) == 0 {
		return err
	}
	p, err := l.o.leftAt(ctx, near, l.solved)
	if err != nil {
		return err
	}
	i, into, err := p.deepest(ctx)
	if i < 0 || err != nil {
		return err
	}
	limit := r.Value - into
	r.OwnLimit = &reading.Limit{Max: &limit, Status: "computed",
		Source: "what the space between crown and preparation takes up; material thicker than that holds the crown off its seat"}
	r.ScannerSensitivity = 1
	r.Parts = append(c.lengthParts(1, 0), ofOpening)
	where := c.placeOf(near[i].p)
	r.Subs = append(r.Subs, reading.Sub{Name: "into the preparation", Value: into, Unit: unit.Millimetre, At: where})
	if into > 0 {
		r.At = where
		r.Note += fmt.Sprintf("; the preparation stands %.3f mm deep in what is left: the crown would not seat", into)
	} else {
		r.Note += fmt.Sprintf("; the space between crown and preparation takes it up with %.3f mm to spare", -into)
	}
	return nil
}

// besideLeft returns the vertices of the preparation beside places of the
// intaglio that the ball does not reach.
func (c *Crown) besideLeft(ctx context.Context, l *leftover) ([]probe, error) {
	left := make([]bool, len(c.Intaglio.Mesh.F))
	deep := make([]bool, len(c.Intaglio.Mesh.V))
	for i, p := range l.probes {
		if l.cuts[i] {
			left[p.facet] = true
			if p.vertex >= 0 {
				deep[p.vertex] = true
			}
		}
	}
	for f, t := range c.Intaglio.Mesh.F {
		left[f] = left[f] || deep[t[0]] || deep[t[1]] || deep[t[2]]
	}
	pts, index := c.insideLine()
	hits := newSigned(len(pts))
	if err := c.Intaglio.Tree.SignedAll(ctx, pts, leftNear, hits); err != nil {
		return nil, err
	}
	var out []probe
	for i, h := range hits {
		if h.Facet < 0 || !left[h.Facet] || h.BeyondBorder {
			continue
		}
		n := pts[i].Sub(h.Point).Unit()
		if h.Dist <= 0 {
			n = c.Intaglio.Tree.FeatureNormal(h.Hit)
		}
		out = append(out, probe{p: pts[i], n: n, off: h.Dist, vertex: index[i]})
	}
	return out, nil
}

// insideLine returns the vertices of the preparation inside the finish line.
func (s *Site) insideLine() (pts []geom.Vec, index []int32) {
	for i, v := range s.Prepared.Mesh.V {
		a, r, z := s.Frame.Cylinder(v)
		if lr, lz := s.lineAt(a); r < lr && z > lz-underLine {
			pts, index = append(pts, v), append(index, int32(i))
		}
	}
	return pts, index
}
