package assay

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"crownassay/align"
	"crownassay/internal/par"
	"crownassay/measure"
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
	var old, design, made []reading.Reading
	err := par.Together(ctx,
		func() (err error) {
			old, err = m.Existing(ctx)
			return err
		},
		func() (err error) {
			if err = r.open(ctx); err != nil {
				return err
			}
			return par.Together(ctx,
				func() (err error) { design, err = r.design(ctx); return err },
				func() (err error) { made, err = r.made(ctx); return err })
		})
	if err != nil {
		return nil, err
	}
	beside(c, old, r.designed)
	r.out = slices.Concat(old, design, made)
	return r, r.seated(ctx, cmp.Or(r.asMade, r.designed))
}

// open brings the crown as designed to the site, if it is given.
func (r *crownRun) open(ctx context.Context) (err error) {
	if l := r.ls[Crown]; l != nil {
		r.say("the crown")
		r.designed, err = r.split(ctx, l)
	}
	return err
}

// design measures the crown as designed.
func (r *crownRun) design(ctx context.Context) ([]reading.Reading, error) {
	if r.designed == nil {
		return nil, nil
	}
	return r.designed.Readings(ctx, r.say)
}

// split brings a surface to the site as a crown; errors name its file.
func (r *crownRun) split(ctx context.Context, l *loaded) (*measure.Crown, error) {
	crown, err := measure.CrownOf(ctx, r.site, l.surface())
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

// made measures the crown as made, after registering it on the design.
func (r *crownRun) made(ctx context.Context) (out []reading.Reading, err error) {
	l, design := r.ls[Finished], r.designed
	if l == nil {
		return nil, nil
	}
	r.say("the crown as made")
	if design != nil {
		if err := l.register(ctx, design.Shell.Tree, align.Options{Near: madeNear, LeaveWithin: madeWithin}); err != nil {
			return nil, err
		}
	}
	crown, err := r.split(ctx, l)
	if err != nil {
		return nil, err
	}
	r.asMade = crown
	crown.Settings.Made = true
	var rs []reading.Reading
	err = par.Together(ctx,
		func() (err error) {
			if design != nil {
				out, err = design.Deviation(ctx, crown.Shell)
			}
			return err
		},
		func() (err error) { rs, err = crown.Readings(ctx, r.say); return err })
	if err != nil {
		return nil, err
	}
	return append(out, measure.AsMade(rs, l.registration)...), nil
}

// beside puts the new design's contour at the place of the old overhang into
// words.
func beside(c *Case, old []reading.Reading, design *measure.Crown) {
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
		word := c.Tooth.SectorWord(reading.Sector(o.At.Azimuth))
		o.Note = capital(fmt.Sprintf("%s overhang was %.1f mm at %.0f degrees; the new crown has %.2f mm at %.0f", word, o.Value, o.Subs[0].Value, over, angle))
		o.Subs = append(o.Subs, reading.Sub{Name: "new crown's overhang there", Value: over, Unit: "mm"},
			reading.Sub{Name: "new crown's emergence there", Value: angle, Unit: "deg"})
	}
}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }
