package assay

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"

	"crownassay/align"
	"crownassay/measure"
	"crownassay/mesh"
	"crownassay/reading"
)

// crownRun measures the restorations of a case on its site.
type crownRun struct {
	c    *Case
	ls   map[Role]*loaded
	site *measure.Site
	say  func(name string)
	out  []reading.Reading

	designed, asMade *measure.Crown // nil where they are not given
}

// crowns makes the readings of the restoration before, of the design and of
// the crown as made, as far as their surfaces are given.
func crowns(ctx context.Context, c *Case, ls map[Role]*loaded, m *measure.Site, say func(name string)) (*crownRun, error) {
	r := &crownRun{c: c, ls: ls, site: m, say: say}
	old, err := m.Existing(ctx)
	if err != nil {
		return nil, err
	}
	design, err := r.design(ctx)
	if err != nil {
		return nil, err
	}
	r.designed = design
	r.beside(old, design)
	r.out = append(old, r.out...)
	crown, err := r.made(ctx, design)
	if err != nil {
		return nil, err
	}
	return r, r.seated(ctx, crown)
}

// design measures the crown as designed; nil where none is given.
func (r *crownRun) design(ctx context.Context) (*measure.Crown, error) {
	l := r.ls[Crown]
	if l == nil {
		return nil, nil
	}
	r.say("the crown")
	crown, err := r.split(ctx, l, l.mesh)
	if err != nil {
		return nil, err
	}
	rs, err := crown.Readings(ctx, r.say)
	r.out = append(r.out, rs...)
	return crown, err
}

// split brings a surface to the site as a crown; errors name its file.
func (r *crownRun) split(ctx context.Context, l *loaded, m *mesh.Mesh) (*measure.Crown, error) {
	crown, err := measure.NewCrown(ctx, r.site, m)
	var no *measure.CrownError
	if errors.As(err, &no) {
		return nil, fmt.Errorf("measure %s %s: %w", l.source.Role, l.source.Path, no)
	}
	if err != nil {
		return nil, err
	}
	crown.Settings = r.c.CrownSettings()
	for _, n := range crown.Notes {
		l.notes = append(l.notes, l.source.File+": "+n)
	}
	return crown, nil
}

// made measures the crown as made, after registering it on the design; without it
// the design is returned.
func (r *crownRun) made(ctx context.Context, design *measure.Crown) (*measure.Crown, error) {
	l := r.ls[Finished]
	if l == nil {
		return design, nil
	}
	r.say("the crown as made")
	if design != nil {
		if err := l.register(ctx, design.Shell.Tree, align.Options{Near: madeNear, LeaveWithin: madeWithin}); err != nil {
			return nil, err
		}
	}
	crown, err := r.split(ctx, l, l.mesh)
	if err != nil {
		return nil, err
	}
	r.asMade = crown
	crown.Settings.Made = true
	rs, err := crown.Readings(ctx, r.say)
	if err != nil {
		return nil, err
	}
	if design != nil {
		dev, err := design.Deviation(ctx, crown.Shell)
		if err != nil {
			return nil, err
		}
		r.out = append(r.out, dev...)
	}
	r.out = append(r.out, measure.AsMade(rs, l.registration)...)
	return crown, nil
}

// beside puts the new design's contour at the place of the old overhang into
// words.
func (r *crownRun) beside(old []reading.Reading, design *measure.Crown) {
	if design == nil {
		return
	}
	for i := range old {
		o := &old[i]
		if o.ID != "existing.contour.overhang.max" || !o.Measured() || !o.At.HasAzimuth || len(o.Subs) == 0 {
			continue
		}
		over, angle := design.ContourAt(int(o.At.Azimuth))
		if math.IsNaN(over) || math.IsNaN(angle) {
			continue
		}
		word := r.c.Tooth.SectorWord(reading.Sector(o.At.Azimuth))
		o.Note = capital(fmt.Sprintf("%s overhang was %.1f mm at %.0f degrees; the new crown has %.2f mm at %.0f", word, o.Value, o.Subs[0].Value, over, angle))
		o.Subs = append(o.Subs, reading.Sub{Name: "new crown's overhang there", Value: over, Unit: "mm"},
			reading.Sub{Name: "new crown's emergence there", Value: angle, Unit: "deg"})
	}
}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }
