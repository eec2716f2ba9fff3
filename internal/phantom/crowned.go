package phantom

import (
	"context"
	"math"
	"math/rand/v2"

	"crownassay/geom"
	"crownassay/mesh"
)

// crowned is the sheet of a tooth with a restoration on it, as a scanner sees
// it: the outer surface to its margin edge, the underside in to the finish
// line, root, sulcus and gingiva. The gingiva lies lower than after retraction,
// so that the margin shows.
type crowned struct {
	out  *cameo
	root *prepSheet
	lip  float64 // mean length of the underside
}

// lowGum lets the gingiva of a preparation stand clear of a crown's margin.
func lowGum(p *prep) *prep {
	q := *p
	q.sulcus, q.crest, q.smears = even(1.1), even(-0.6), nil
	return &q
}

func newCrowned(o *cameo, p *prep) *crowned {
	c := &crowned{out: o, root: newPrepSheet(lowGum(p))}
	const turns = 360
	for i := range turns {
		a := 2 * math.Pi * float64(i) / turns
		c.lip += spin(a, o.margin(a)).Dist(p.finishPoint(a)) / turns
	}
	return c
}

func (c *crowned) span() float64 { return c.gumFrom() + c.root.span() - c.root.from[segGum] }

// gumFrom is the running length where the gingiva begins.
func (c *crowned) gumFrom() float64 {
	return c.out.runs + c.lip + c.root.from[segGum] - c.root.from[segRoot]
}

func (c *crowned) point(a, q float64) geom.Vec {
	if q <= c.out.runs {
		return c.out.at(a, q/c.out.runs)
	}
	deep := c.root.from[segFloor] - c.root.from[segRoot]
	q -= c.out.runs
	if q >= c.lip+deep {
		return c.root.point(a, q-c.lip+c.root.from[segRoot])
	}
	// Underside and root share their running length as they are long here.
	m, f := spin(a, c.out.margin(a)), c.root.finishPoint(a)
	l := m.Dist(f)
	if q *= (l + deep) / (c.lip + deep); q < l {
		return m.Lerp(f, q/l)
	}
	return c.root.point(a, q-l+c.root.from[segRoot])
}

func (c *crowned) grain(q float64) float64 {
	d := math.Abs(q - c.out.runs)
	return 0.55 + 0.35*step((d-0.7)/1.5) + 0.8*step((q-c.gumFrom()-1)/3)
}

func (c *crowned) edge() (float64, bool) { return 0, false }

// withSheet copies the arch with another sheet on the prepared tooth.
func (m *model) withSheet(s sheet) *arch {
	a := &arch{seams: m.prepared.seams}
	for _, t := range m.prepared.teeth {
		c := *t
		c.per, c.at = nil, nil
		if t == m.target {
			c.sheet = s
		}
		a.teeth = append(a.teeth, &c)
	}
	return a
}

// oldRestoration lays out what was on the tooth before: its margin edge lies
// beyond and above the new finish line by the spec.
func (m *model) oldRestoration(ctx context.Context, o *Old) (*cameo, error) {
	over, up := o.Overhang.band(), o.Step.band()
	p := m.target.prep
	c, err := newCameo(ctx, m.natural(bulkyFade), p, func(a float64) point2 {
		return point2{p.radius.at(a) + over.at(a), p.finish.at(a) + up.at(a)}
	})
	if err != nil {
		return nil, err
	}
	for _, h := range o.Hills {
		c.raise(h)
	}
	return c, nil
}

// scannedArch weaves an arch as the prepared one is woven.
func (c *Case) scannedArch(ctx context.Context, a *arch, rng *rand.Rand) (*mesh.Mesh, error) {
	h := c.Spec.Edge
	if h <= 0 {
		var err error
		if h, err = a.spacing(ctx, c.Spec.Triangles, false); err != nil {
			return nil, err
		}
	}
	return a.mesh(ctx, h, false, rng)
}
