package report

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math"

	"crownassay/assay"
	"crownassay/pdf"
	"crownassay/reading"
	"crownassay/record"
)

// Options say whose report it is and on what paper.
type Options struct {
	Paper   pdf.Paper
	Patient string          // the practice's own code
	Title   string          // a remark
	Entries []record.Sealed // of the case's record
	Run     *record.Sealed  // its newest run; nil where there is none
	Kept    []byte          // the document of that run
	// Progress is told each step and how much of it is done; nil for none.
	Progress func(step string, done, total int)
}

// findings is how many readings are shown with pictures, at most, and how many
// there are at least, as far as the case has them.
const (
	mostFindings  = 4
	leastFindings = 2
)

// Write makes the report.
func Write(ctx context.Context, w io.Writer, m *assay.Measured, o Options) error {
	r, d, err := begin(m, o)
	if err != nil {
		return err
	}
	chosen := choose(r.Document)
	total := len(chosen) + 2
	if r.Overview, err = d.overview(ctx); err != nil {
		return err
	}
	for i, q := range chosen {
		o.say("drawing: "+q.Name, i+1, total)
		f, err := d.finding(ctx, q)
		if err != nil {
			return err
		}
		r.Findings = append(r.Findings, f)
	}
	o.say("drawing: before and after", total-1, total)
	if r.Old, err = d.old(ctx); err != nil {
		return err
	}
	return r.Write(w)
}

// WritePatient makes the sheet for the patient.
func WritePatient(ctx context.Context, w io.Writer, m *assay.Measured, o Options) error {
	r, d, err := begin(m, o)
	if err != nil {
		return err
	}
	if r.Overview, err = d.plain(ctx); err != nil {
		return err
	}
	return r.WritePatient(w)
}

// begin takes the document that is told of.
func begin(m *assay.Measured, o Options) (*pdf.Report, *drawer, error) {
	_, doc, run, err := o.Told(m)
	if err != nil {
		return nil, nil, err
	}
	if doc.Frame == nil {
		return nil, nil, fmt.Errorf("make report: the case has no frame, so that nothing can be drawn")
	}
	return &pdf.Report{Document: doc, Title: o.Title, Patient: o.Patient, Entries: o.Entries, Kept: run, Paper: o.Paper}, newDrawer(m, doc), nil
}

// Told is the document that is told of a case: that of the record's newest run,
// byte for byte, where this is of the same case as was measured now, and that
// run; else what was measured now and nil.
func (o *Options) Told(m *assay.Measured) ([]byte, *record.Document, *record.Sealed, error) {
	var b bytes.Buffer
	if err := m.Record.WriteJSON(&b); err != nil {
		return nil, nil, nil, err
	}
	now, err := record.ReadDocument(b.Bytes())
	if err != nil || o.Run == nil {
		return b.Bytes(), now, nil, err
	}
	kept, err := record.ReadDocument(o.Kept)
	if err != nil || !record.SameCase(kept, now) {
		return b.Bytes(), now, nil, err
	}
	return o.Kept, kept, o.Run, nil
}

func (o *Options) say(step string, done, total int) {
	if o.Progress != nil {
		o.Progress(step, done, total)
	}
}

// usual are the readings that are shown where too few are out of order.
var usual = []reading.ID{"preparation.clearance.occlusal", "finished.thickness.occlusal", "crown.thickness.occlusal", "finished.fit.marginal_gap.max",
	"crown.fit.marginal_gap.max", "preparation.height.min"}

// choose picks the readings that fail, then those undecided, then usual ones.
// The design and the crown as made are shown once where both say the same.
func choose(d *record.Document) (out []*record.DocReading) {
	have := map[reading.ID]bool{}
	add := func(q *record.DocReading) {
		if q != nil && q.Value != nil && (q.At != nil || len(q.Profile) > 1) && !have[reading.AsDesigned(q.ID)] && len(out) < mostFindings {
			have[reading.AsDesigned(q.ID)] = true
			out = append(out, q)
		}
	}
	for _, v := range []reading.Verdict{reading.Fails, reading.Undecided} {
		for i := range d.Readings {
			if d.Readings[i].Verdict == v {
				add(&d.Readings[i])
			}
		}
	}
	for _, id := range usual {
		if len(out) < leastFindings {
			add(d.Reading(id))
		}
	}
	return out
}

// azimuthOf is the azimuth of a point around the axis, degrees.
func azimuthOf(f *frame, p [3]float64) float64 {
	d := vec(p).Sub(f.o)
	a := math.Atan2(d.Dot(f.y), d.Dot(f.x)) * 180 / math.Pi
	if a < 0 {
		a += 360
	}
	return a
}
