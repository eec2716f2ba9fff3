package fhir

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"time"

	"github.com/google/uuid"
	r4 "github.com/samply/golang-fhir-models/fhir-models/fhir"

	"crownassay/record"
)

// The code systems.
const (
	ucum       = "http://unitsofmeasure.org"
	teeth      = "urn:iso:std:iso:3950" // ISO 3950; URNs of ISO standards: RFC 5141
	absent     = "http://terminology.hl7.org/CodeSystem/data-absent-reason"
	category   = "http://terminology.hl7.org/CodeSystem/observation-category"
	ownReading = "urn:crownassay:reading" // ids of docs/READINGS.md
	ownVerdict = "urn:crownassay:verdict"
	ownPart    = "urn:crownassay:part"
	gtin       = "https://www.gs1.org/gtin"
)

// Run is what is written.
type Run struct {
	Document *record.Document
	Hash     string          // SHA-256 of the document; identifiers are made from it
	Patient  string          // the practice's own code; empty for none
	Entries  []record.Sealed // of the case's record
	Kept     *record.Sealed  // the run whose document it is; nil when it is not kept
	Report   []byte          // PDF; nil for none
}

// builder collects the entries of a bundle.
type builder struct {
	*Run
	at      *string // of the run
	site    r4.CodeableConcept
	entries []r4.BundleEntry
	names   []string // of the readings' observations
}

// Write writes the bundle as indented JSON.
func (r *Run) Write(w io.Writer) error {
	b := &builder{Run: r}
	if err := b.build(); err != nil {
		return fmt.Errorf("make FHIR bundle: %w", err)
	}
	bundle := r4.Bundle{Type: r4.BundleTypeCollection, Entry: b.entries, Timestamp: b.at,
		Identifier: &r4.Identifier{System: ptr("urn:ietf:rfc:3986"), Value: ptr(b.url("bundle"))}}
	out, err := json.Marshal(bundle)
	if err != nil {
		return fmt.Errorf("make FHIR bundle: %w", err)
	}
	var pretty bytes.Buffer
	if err := json.Indent(&pretty, out, "", " "); err != nil {
		return err
	}
	pretty.WriteByte('\n')
	_, err = pretty.WriteTo(w)
	return err
}

func (b *builder) build() error {
	t, err := b.Document.Of()
	if err != nil {
		return err
	}
	b.site = r4.CodeableConcept{Coding: []r4.Coding{{System: ptr(teeth), Code: ptr(t.ISO()), Display: ptr(t.Name())}}, Text: ptr(t.Name())}
	if b.Kept != nil {
		b.at = ptr(stamp(b.Kept.At))
	}
	for _, step := range []func() error{b.patient, b.program, b.lots, b.procedure, b.readings, b.report} {
		if err := step(); err != nil {
			return err
		}
	}
	return nil
}

func stamp(t time.Time) string { return t.UTC().Truncate(time.Second).Format(time.RFC3339) }

// url is the name of a resource: a UUID made from the document and its part.
func (b *builder) url(part string) string {
	return "urn:uuid:" + uuid.NewSHA1(uuid.NameSpaceURL, []byte("crownassay:"+b.Hash+":"+part)).String()
}

func (b *builder) ref(part string) *r4.Reference { return &r4.Reference{Reference: ptr(b.url(part))} }

// add appends a resource.
func (b *builder) add(part string, resource any) error {
	raw, err := json.Marshal(resource)
	if err != nil {
		return fmt.Errorf("%s: %w", part, err)
	}
	b.entries = append(b.entries, r4.BundleEntry{FullUrl: ptr(b.url(part)), Resource: raw})
	return nil
}

func ptr[T any](x T) *T { return &x }

func words(s string) *r4.CodeableConcept { return &r4.CodeableConcept{Text: &s} }

func coded(system, code, display string) r4.CodeableConcept {
	return r4.CodeableConcept{Coding: []r4.Coding{{System: &system, Code: &code, Display: &display}}, Text: &display}
}

// patient is known by a code of the practice alone.
func (b *builder) patient() error {
	p := r4.Patient{}
	if b.Patient != "" {
		p.Identifier = []r4.Identifier{{Use: ptr(r4.IdentifierUseSecondary), Type: words("code of the practice"), Value: &b.Patient}}
	}
	return b.add("patient", p)
}

// program is the device that measured.
func (b *builder) program() error {
	return b.add("program", r4.Device{
		DeviceName: []r4.DeviceDeviceName{{Name: "Crown Assay", Type: r4.DeviceNameTypeUserFriendlyName}},
		Type:       words("measuring program"), Version: []r4.DeviceVersion{{Value: b.Document.Version}},
		Note: []r4.Annotation{{Text: record.Caution}},
	})
}

// lots are devices of their own.
func (b *builder) lots() error {
	for _, e := range record.Stand(b.Entries).Lots {
		d := r4.Device{Type: words(e.Lot.Thing), LotNumber: some(e.Lot.Lot), SerialNumber: some(e.Lot.Serial), ExpirationDate: some(e.Lot.Expires)}
		if e.Lot.Product != "" {
			d.Identifier = []r4.Identifier{{System: ptr(gtin), Value: ptr(e.Lot.Product)}}
		}
		if e.Lot.Code != "" {
			d.UdiCarrier = []r4.DeviceUdiCarrier{{DeviceIdentifier: some(e.Lot.Product), CarrierHRF: some(e.Lot.Code)}}
		}
		if err := b.add(lotName(e), d); err != nil {
			return err
		}
	}
	return nil
}

func lotName(e *record.Sealed) string { return fmt.Sprintf("lot-%d", e.Number) }

// some is nil for an empty text, which FHIR does not allow.
func some(s string) *string {
	if s == "" {
		return nil
	}
	return &s
}

// procedure is the crown, as far as the record says that it has come.
func (b *builder) procedure() error {
	stand := record.Stand(b.Entries)
	p := r4.Procedure{Status: r4.EventStatusInProgress, Code: words("full crown, " + b.Document.Material), Subject: *b.ref("patient"),
		BodySite: []r4.CodeableConcept{b.site}}
	for _, e := range stand.Lots {
		p.UsedReference = append(p.UsedReference, *b.ref(lotName(e)))
	}
	for _, h := range b.Document.HoldPoints() {
		c := stand.Confirmations[h]
		if c == nil {
			continue
		}
		text := "Hold point " + string(h) + " confirmed"
		if c.Confirmation.Remark != "" {
			text += ": " + c.Confirmation.Remark
		}
		p.Note = append(p.Note, r4.Annotation{AuthorString: some(c.Who), Time: ptr(stamp(c.At)), Text: text})
	}
	for _, e := range append(slices.Clone(stand.TryIns), stand.Recalls...) {
		p.Note = append(p.Note, r4.Annotation{AuthorString: some(e.Who), Time: ptr(stamp(e.At)), Text: e.Found()})
	}
	if e := stand.Luting; e != nil {
		p.Note = append(p.Note, r4.Annotation{AuthorString: some(e.Who), Time: ptr(stamp(e.At)), Text: e.Luting.Text()})
	}
	return b.add("procedure", p)
}
