package assay

import (
	"context"
	"maps"
	"slices"
	"sync"

	"crownassay/conformity"
	"crownassay/internal/par"
	"crownassay/measure"
	"crownassay/reading"
	"crownassay/record"
)

// Measured is a case that was measured, held open: its surfaces where they
// were brought, with what is needed to draw them and to measure again.
type Measured struct {
	Record *record.Record

	c            *Case
	ls           map[Role]*loaded
	at           *site
	site         *measure.Site
	noBefore     string
	design, made *measure.Crown // the crown; nil where it is not given
	readings     []reading.Reading
	notes        []string
}

// Measure is Run that holds the case open.
func Measure(ctx context.Context, c *Case, opt Options) (*Measured, error) {
	m, steps := &Measured{c: c}, c.steps()
	say := func(step string, done int) {
		if opt.Progress != nil {
			opt.Progress(step, done, steps)
		}
	}
	if err := m.open(ctx, say); err != nil {
		return nil, err
	}
	at, telling := stepMeasure, sync.Mutex{}
	next := func(name string) {
		telling.Lock()
		defer telling.Unlock()
		say("measuring: "+name, at)
		at = min(at+1, steps-1)
	}
	if err := m.measure(ctx, next, opt.First); err != nil {
		return nil, err
	}
	if err := m.judge(); err != nil {
		return nil, err
	}
	say("done", steps)
	return m, nil
}

// measure makes all readings, side by side unless first is to be given those
// of the preparation before the others.
func (m *Measured) measure(ctx context.Context, next func(string), first func(*record.Record)) error {
	var ofPreparation, ofCrowns []reading.Reading
	preparation := func() (err error) {
		ofPreparation, err = m.site.Preparation(ctx, next)
		return err
	}
	rest := func() (err error) {
		ofCrowns, err = m.crowns(ctx, next)
		return err
	}
	if first != nil && (m.ls[Crown] != nil || m.ls[Finished] != nil || m.ls[Before] != nil) {
		if err := preparation(); err != nil {
			return err
		}
		m.readings = ofPreparation
		if err := m.judge(); err != nil {
			return err
		}
		first(m.Record)
		preparation = func() error { return nil }
	}
	err := par.Together(ctx, preparation, rest)
	m.readings = slices.Concat(ofPreparation, ofCrowns)
	return err
}

// open reads the surfaces, finds the preparation and brings all together.
func (m *Measured) open(ctx context.Context, say func(string, int)) (err error) {
	say("reading surfaces", stepRead)
	opposing, missed, err := m.read(ctx, say)
	if err != nil {
		return err
	}
	if err := distinct(m.c, m.ls); err != nil {
		return err
	}
	if missed != nil {
		return missed
	}
	say("preparing the other surfaces", stepOpposing)
	var before *measure.Surface
	err = par.Together(ctx,
		func() (err error) { before, m.noBefore, err = earlier(ctx, m.ls, m.at); return err },
		func() error { return notTwice(ctx, m.c, m.ls, m.at.surface, opposing) })
	if err != nil {
		return err
	}
	m.notes = append(m.notes, m.at.notes...)
	m.site = newMeasurer(m.c, m.at, opposing, before, m.noBefore)
	return nil
}

// read reads the surfaces and finds the preparation, which needs no more than
// the two arches. What is known of the other surfaces without it is found
// meanwhile. Missed says why it was not found; err is of a surface that
// could not be read, and ends the search.
func (m *Measured) read(ctx context.Context, say func(string, int)) (opposing *measure.Surface, missed, err error) {
	looking, stop := context.WithCancel(ctx)
	defer stop()
	var arches map[Role]*loaded
	err = par.Together(ctx,
		func() (err error) {
			if m.ls, err = load(ctx, m.c, notArch); err != nil {
				stop()
				return err
			}
			if crown := m.ls[Crown]; crown != nil {
				if _, err = crown.surface().Crossings(ctx); err != nil {
					return err
				}
			}
			for _, role := range []Role{Before, Finished} {
				m.ls[role].surface() // in vain where it turns out to lie in another frame
			}
			return ctx.Err()
		},
		func() (err error) {
			if arches, err = load(ctx, m.c, arch); err != nil {
				return err
			}
			m.notes = face(arches)
			say("finding the preparation", stepFind)
			missed = par.Together(looking,
				func() (err error) { m.at, err = find(looking, m.c, arches); return err },
				func() error { opposing = arches[Opposing].surface(); return nil })
			return nil
		})
	if err == nil {
		maps.Copy(m.ls, arches)
	}
	return opposing, missed, err
}

// crowns makes the readings of the restorations.
func (m *Measured) crowns(ctx context.Context, next func(string)) ([]reading.Reading, error) {
	r, err := crowns(ctx, m.c, m.ls, m.site, next)
	if err != nil {
		return nil, err
	}
	m.design, m.made = r.designed, r.asMade
	return r.out, nil
}

// judge makes the record of the readings there are.
func (m *Measured) judge() error {
	judged, err := conformity.Judge(m.readings, m.c.Limits, m.c.Setting())
	if err != nil {
		return err
	}
	m.Record = write(m.c, m.ls, m.at, m.site, judged, m.notes)
	return nil
}
