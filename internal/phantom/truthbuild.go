package phantom

import (
	"context"

	"crownassay/geom"
)

// truth works out everything there is to know and brings it into the
// coordinates of the files.
func (m *model) truth(ctx context.Context, tooth string) (Truth, error) {
	s, err := newSurvey(ctx, m.target.prep)
	if err != nil {
		return Truth{}, err
	}
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
}
