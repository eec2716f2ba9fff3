package assay

import (
	"context"

	"crownassay/conformity"
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
	at := stepMeasure
	next := func(name string) {
		say("measuring: "+name, at)
		at = min(at+1, steps-1)
	}
	var err error
	if m.readings, err = m.site.Preparation(ctx, next); err != nil {
		return nil, err
	}
	if opt.First != nil && (m.ls[Crown] != nil || m.ls[Finished] != nil || m.ls[Before] != nil) {
		if err := m.judge(); err != nil {
			return nil, err
		}
		opt.First(m.Record)
	}
	if err := m.crowns(ctx, next); err != nil {
		return nil, err
	}
	if err := m.judge(); err != nil {
		return nil, err
	}
	say("done", steps)
	return m, nil
}

// open reads the surfaces, finds the preparation and brings all together.
func (m *Measured) open(ctx context.Context, say func(string, int)) (err error) {
	say("reading surfaces", stepRead)
	if m.ls, err = load(ctx, m.c); err != nil {
		return err
	}
	if err := distinct(m.c, m.ls); err != nil {
		return err
	}
	m.notes = face(m.ls)
	say("finding the preparation", stepFind)
	if m.at, err = find(ctx, m.c, m.ls); err != nil {
		return err
	}
	m.notes = append(m.notes, m.at.notes...)
	say("preparing the other surfaces", stepOpposing)
	if m.noBefore, err = earlier(ctx, m.ls, m.at, m.at.surface); err != nil {
		return err
	}
	m.site = newMeasurer(m.c, m.ls, m.at, m.noBefore)
	return notTwice(m.c, m.ls, m.site)
}

// crowns adds the readings of the restorations.
func (m *Measured) crowns(ctx context.Context, next func(string)) error {
	r, err := crowns(ctx, m.c, m.ls, m.site, next)
	if err != nil {
		return err
	}
	m.design, m.made = r.designed, r.asMade
	m.readings = append(m.readings, r.out...)
	return nil
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
