package fhir

import (
	"crypto/sha1"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"strconv"

	r4 "github.com/samply/golang-fhir-models/fhir-models/fhir"

	"crownassay/reading"
	"crownassay/record"
	"crownassay/unit"
)

// units are the codes of UCUM, with what is written for them.
var units = map[unit.Unit][2]string{
	unit.Millimetre: {"mm", "mm"}, unit.SquareMillimetre: {"mm2", "mm²"}, unit.Degree: {"deg", "°"},
	unit.Percent: {"%", "%"}, unit.Newton: {"N", "N"}, unit.One: {"1", "1"},
}

func quantity(x float64, u unit.Unit) (*r4.Quantity, error) {
	c, ok := units[u]
	if !ok {
		return nil, fmt.Errorf("the unit %q has no code of UCUM here", u)
	}
	n := json.Number(strconv.FormatFloat(x, 'f', -1, 64))
	return &r4.Quantity{Value: &n, Unit: &c[1], System: ptr(ucum), Code: &c[0]}, nil
}

// readings adds an observation for each reading.
func (b *builder) readings() error {
	stand := record.Stand(b.Entries)
	for i := range b.Document.Readings {
		q := &b.Document.Readings[i]
		o, err := b.observation(q)
		if err != nil {
			return fmt.Errorf("%s: %w", q.ID, err)
		}
		if v := stand.Overrides[q.ID]; v != nil && b.Kept != nil && v.Override.Run == b.Kept.Number {
			o.Note = append(o.Note, r4.Annotation{AuthorString: some(v.Who), Time: ptr(stamp(v.At)),
				Text: fmt.Sprintf("Judged otherwise: %s. %s", v.Override.To, v.Override.Reason)})
		}
		if err := b.add(string(q.ID), o); err != nil {
			return err
		}
		b.names = append(b.names, string(q.ID))
	}
	return nil
}

func (b *builder) observation(q *record.DocReading) (r4.Observation, error) {
	status := r4.ObservationStatusPreliminary
	if b.Kept != nil {
		status = r4.ObservationStatusFinal
	}
	o := r4.Observation{Status: status, Code: coded(ownReading, string(q.ID), q.Name), Subject: b.ref("patient"), PartOf: []r4.Reference{*b.ref("procedure")},
		Category:          []r4.CodeableConcept{coded(category, "procedure", "Procedure")},
		EffectiveDateTime: b.at, Device: b.ref("program"), BodySite: &b.site,
		Interpretation: []r4.CodeableConcept{coded(ownVerdict, string(q.Verdict), verdictWords(q))}}
	for _, t := range []string{q.Next, q.Note} {
		if t != "" {
			o.Note = append(o.Note, r4.Annotation{Text: t})
		}
	}
	var err error
	if q.Value == nil {
		c := coded(absent, "not-performed", "Not Performed")
		c.Text = some(q.Reason)
		o.DataAbsentReason = &c
	} else if o.ValueQuantity, err = quantity(*q.Value, q.Unit); err != nil {
		return o, err
	}
	if o.ReferenceRange, err = limits(q); err != nil {
		return o, err
	}
	o.Component, err = components(q)
	return o, err
}

func verdictWords(q *record.DocReading) string {
	if q.Verdict == reading.Unmeasured {
		return "unmeasured: " + q.Reason
	}
	return string(q.Verdict)
}

// limits is the limit with its source.
func limits(q *record.DocReading) ([]r4.ObservationReferenceRange, error) {
	l := q.Limit
	if l == nil {
		return nil, nil
	}
	out := r4.ObservationReferenceRange{Text: ptr(q.LimitText() + ": " + l.Cited())}
	var err error
	if l.Min != nil {
		if out.Low, err = quantity(*l.Min, q.Unit); err != nil {
			return nil, err
		}
	}
	if l.Max != nil {
		out.High, err = quantity(*l.Max, q.Unit)
	}
	return []r4.ObservationReferenceRange{out}, err
}

// components are the uncertainty, the place and the further values.
func components(q *record.DocReading) (out []r4.ObservationComponent, err error) {
	add := func(code, display string, x float64, u unit.Unit) {
		var v *r4.Quantity
		if v, err = quantity(x, u); err == nil {
			out = append(out, r4.ObservationComponent{Code: coded(ownPart, code, display), ValueQuantity: v})
		}
	}
	if q.Uncertainty != nil && *q.Uncertainty > 0 {
		add("uncertainty", "expanded uncertainty, k = 2 (JCGM 100)", *q.Uncertainty, q.Unit)
	}
	if q.At != nil && q.At.Azimuth != nil {
		add("azimuth", "azimuth of the place: 0 mesial, 90 buccal, 180 distal, 270 lingual", *q.At.Azimuth, unit.Degree)
	}
	for _, s := range q.Subs {
		if s.Value != nil && err == nil {
			add("further", s.Name, *s.Value, s.Unit)
		}
	}
	return out, err
}

// report is the PDF with the readings it tells of.
func (b *builder) report() error {
	if b.Report == nil {
		return nil
	}
	sum := sha1.Sum(b.Report) // FHIR R4 wants this one, of the data
	d := r4.DocumentReference{Status: r4.DocumentReferenceStatusCurrent, Type: words("report of a measurement"), Subject: b.ref("patient"), Date: b.at,
		Author: []r4.Reference{*b.ref("program")},
		Content: []r4.DocumentReferenceContent{{Attachment: r4.Attachment{ContentType: ptr("application/pdf"), Language: ptr("en"),
			Data: ptr(base64.StdEncoding.EncodeToString(b.Report)), Size: ptr(len(b.Report)), Hash: ptr(base64.StdEncoding.EncodeToString(sum[:])),
			Title: ptr("Crown Assay report, tooth " + b.Document.Tooth), Creation: b.at}}},
		Context: &r4.DocumentReferenceContext{Related: []r4.Reference{*b.ref("procedure")}}}
	for _, n := range b.names {
		d.Context.Related = append(d.Context.Related, *b.ref(n))
	}
	return b.add("report", d)
}
