package assay

import (
	"context"
	"math"

	"crownassay/conformity"
	"crownassay/measure"
	"crownassay/mesh"
	"crownassay/reading"
	"crownassay/record"
	"crownassay/tooth"
)

// steps are the parts of a run, as progress names them.
const (
	stepRead = iota
	stepFind
	stepOpposing
	stepMeasure
	stepsAlways = stepMeasure + 9
)

// stepsFor are the steps that a surface adds.
var stepsFor = map[Role]int{Crown: 11, Finished: 9, Seated: 1}

// steps is how many steps the case has.
func (c *Case) steps() int {
	n := stepsAlways
	for _, s := range c.Surfaces {
		n += stepsFor[s.Role]
	}
	return n
}

// Run measures a case: surfaces and settings in, record out. An error says
// that nothing could be measured and why.
func Run(ctx context.Context, c *Case, opt Options) (*record.Record, error) {
	m, err := Measure(ctx, c, opt)
	if err != nil {
		return nil, err
	}
	return m.Record, nil
}

// newMeasurer brings the found preparation together with the case.
func newMeasurer(c *Case, s *site, opposing, before *measure.Surface, noBefore string) *measure.Site {
	class := c.Tooth.Class()
	m := measure.Site{
		Prepared: s.surface, Opposing: opposing, Before: before,
		NoBefore: noBefore,
		Found:    s.found, Spacing: s.scan.Spacing, Noise: s.noise, CutOff: s.scan.CutOff(),
		Mesial: s.mesial, Posterior: class == tooth.Molar || class == tooth.Premolar,
		FunctionalLingual: c.Tooth.FunctionalLingual(), CementSpace: c.CementSpace,
		LeastThickness: c.Material.Thickness, NoThickness: "the limits table has no least thickness for " + c.Material.Name,
	}
	return measure.NewSite(m)
}

// write makes the record.
func write(c *Case, ls map[Role]*loaded, s *site, m *measure.Site, rs []reading.Reading, notes []string) *record.Record {
	r := &record.Record{Tooth: c.Tooth, Numbering: c.Numbering, Material: c.Material.Name, Readings: rs}
	for _, src := range c.Surfaces {
		l := ls[src.Role]
		r.Surfaces = append(r.Surfaces, l.info)
		r.Notes = append(r.Notes, l.notes...)
	}
	r.Notes = append(r.Notes, notes...)
	f := s.found.Frame
	r.Frame = &record.Frame{Origin: f.Origin, Placement: f.Z, Zero: f.X, Turn: f.Y}
	if s.mesial {
		x, y := f.X, f.Y
		r.Frame.Mesial, r.Frame.Buccal = &x, &y
	}
	r.FinishLine = s.found.Line.Points(f)
	u := c.ScannerUM
	if u == 0 {
		u = 1000 * conformity.Coverage * conformity.DefaultScannerMM
	}
	r.Settings = record.Settings{CementSpace: c.CementSpace, LeastThickness: c.Material.Thickness, ScannerUM: u, ScannerStated: c.ScannerUM > 0 && c.ScannerFrom == "", ScannerFrom: c.ScannerFrom, LimitsFile: c.LimitsFile, Rule: string(c.Rule)}
	return r
}

// crownSize is the largest dimension, mm, of a single crown.
const crownSize = 16.0

// looksLikeCrown reports whether a surface is a closed shell of a crown's size.
func looksLikeCrown(m *mesh.Mesh) bool {
	size := m.Box().Size()
	if math.Max(size.X, math.Max(size.Y, size.Z)) > crownSize {
		return false
	}
	return mesh.Closed(m, mesh.Adjacent(m))
}
