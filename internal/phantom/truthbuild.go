package phantom

import (
	"context"
	"math"
	"slices"

	"crownassay/geom"
	"crownassay/mesh"
)

// truth works out everything there is to know and brings it into the
// coordinates of the files.
func (m *model) truth(ctx context.Context, tooth string) (Truth, error) {
	s, err := newSurvey(ctx, m.target.prep)
	if err != nil {
		return Truth{}, err
	}
	m.survey = s
	t := Truth{Tooth: tooth, Free: s.free, Readings: map[string]float64{}, Zones: map[string]float64{}, Places: map[string][3]float64{}}
	s.preparation(&t)
	if err := m.clearanceTruth(ctx, s, &t); err != nil {
		return t, err
	}
	m.neighbourTruth(s, &t)
	for k, p := range t.Places {
		t.Places[k] = triple(m.toFile(geom.Vec{X: p[0], Y: p[1], Z: p[2]}))
	}
	m.frameTruth(s, &t)
	return t, nil
}

// frameTruth fills frame, finish line and sections.
func (m *model) frameTruth(s *survey, t *Truth) {
	t.Origin = triple(m.toFile(s.origin))
	t.Placement = triple(m.turnToFile(s.axis))
	t.Construction = triple(m.turnToFile(geom.Vec{Z: 1}))
	t.Mesial, t.Buccal = triple(m.turnToFile(s.m)), triple(m.turnToFile(s.b))
	for _, p := range s.finish {
		t.FinishLine = append(t.FinishLine, triple(m.toFile(p)))
	}
	for i := range s.cuts {
		c := &s.cuts[i]
		t.Sections = append(t.Sections, SectionTruth{
			Azimuth: float64(i), Finish: triple(m.toFile(c.space(uFinish))),
			Inner: triple(m.toFile(c.space(c.uIn))), Line: triple(m.toFile(c.space(c.uLine))),
			Inclination: c.inclination(), Width: c.width(), Height: c.height(), Undercut: c.undercut,
		})
	}
}

// scanned adds what the scanner effects make true.
func (t *Truth) scanned(s Spec) {
	lost := 0.0
	for _, d := range s.Defects {
		if d.Kind == SmearedFinish || d.Kind == MissingFinish {
			t.Illegible = append(t.Illegible, ArcTruth{d.Azimuth, d.Extent, d.Kind})
			lost += d.Extent
		}
	}
	t.Readings["finish_line.legible"] = 100 - lost/3.6
	t.Readings["scan.holes"] = float64(len(t.Holes))
	t.Readings["scan.noise"] = s.Noise
	t.BiteOverlap = biteOverlap
}

// edgeReach is how far from the finish line the spacing counts, mm (the
// definition's).
const edgeReach = 0.5

// spacing is the median length of the mesh's edges near the finish line.
func (m *model) spacing(mm *mesh.Mesh) float64 {
	t := m.target
	near := map[int32]bool{}
	for i, at := range t.at {
		v := int32(t.first + i)
		p := t.frame.toTooth(mm.V[v])
		if p.Dist(t.prep.finishPoint(at.a)) < 2*edgeReach && m.offFinish(p, at.a) < edgeReach {
			near[v] = true
		}
	}
	var l []float64
	for _, f := range mm.F {
		for k := range 3 {
			a, b := f[k], f[(k+1)%3]
			if near[a] && near[b] && a < b {
				l = append(l, mm.V[a].Dist(mm.V[b]))
			}
		}
	}
	slices.Sort(l)
	if len(l) == 0 {
		return 0
	}
	return l[len(l)/2]
}

// offFinish is the distance from p, found at azimuth a, to the finish line,
// searched over the arc that could be nearer than edgeReach.
func (m *model) offFinish(p geom.Vec, a float64) float64 {
	best := math.Inf(1)
	for i := -24; i <= 24; i++ {
		best = math.Min(best, p.Dist(m.target.prep.finishPoint(a+float64(i)*degree)))
	}
	return best
}

// finishPoint is a point of the finish line without the rest of its profile.
func (p *prep) finishPoint(a float64) geom.Vec {
	sn, cs := math.Sincos(a)
	r := p.radius.at(a)
	return geom.Vec{X: r * cs, Y: r * sn, Z: p.finish.at(a)}
}
