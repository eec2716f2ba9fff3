package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"crownassay/fhir"
	"crownassay/meshio"
	"crownassay/pdf"
	"crownassay/reading"
	"crownassay/record"
	"crownassay/report"
	"crownassay/web"
)

type exportCommand struct {
	bookFlags
	Format  string `required:"" enum:"json,csv,fhir,glb,ply" placeholder:"FORMAT" help:"json: the document of its JSON Schema; csv: a table of the readings; fhir: a Bundle of HL7 FHIR R4 with the report; glb, ply: a surface coloured by a reading."`
	Out     string `required:"" placeholder:"FILE" help:"File to write."`
	Reading string `placeholder:"ID" help:"For glb and ply: the reading to show; by default the first of the findings that can be."`
}

// Run measures the case and writes it in the format.
func (c *exportCommand) Run(p *program) error {
	if c.Reading != "" && c.Format != "glb" && c.Format != "ply" {
		return fmt.Errorf("read --reading %s: only glb and ply show one reading; leave it out", c.Reading)
	}
	tell, end := newProgress(p.ctx, p.stderr)
	defer end()
	o, err := c.opened(p.ctx, tell)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := o.export(p.ctx, &b, c.Format, reading.ID(c.Reading)); err != nil {
		return err
	}
	return writeFile(c.Out, b.Bytes())
}

// export writes a measured case in a format.
func (o *openedCase) export(ctx context.Context, w io.Writer, format string, id reading.ID) error {
	if format == "glb" || format == "ply" {
		s, err := report.Colored(ctx, o.measured, id)
		if err != nil {
			return err
		}
		if format == "glb" {
			return meshio.WriteGLB(w, s)
		}
		return meshio.WriteColoredPLY(w, s)
	}
	opt := o.options(pdf.A4)
	b, d, run, err := opt.Told(o.measured)
	switch {
	case err != nil:
		return err
	case format == "json":
		_, err := w.Write(b)
		return err
	case format == "csv":
		return d.WriteCSV(w)
	}
	var sheet bytes.Buffer
	if err := report.Write(ctx, &sheet, o.measured, opt); err != nil {
		return err
	}
	r := fhir.Run{Document: d, Hash: record.Hash(b), Patient: strings.TrimSpace(o.patient), Entries: o.entries, Kept: run, Report: sheet.Bytes()}
	return r.Write(w)
}

// options are how the case's report is made.
func (o *openedCase) options(paper pdf.Paper) report.Options {
	return report.Options{Paper: paper, Patient: o.patient, Title: o.title, Entries: o.entries, Run: o.run, Kept: o.kept}
}

// exporter writes cases of a bench.
type exporter struct{ *bench }

var _ web.Exporter = exporter{}

// opened is a case of the bench as it stands, with its record.
func (e exporter) opened(ctx context.Context, id int64) (o openedCase, err error) {
	k, err := e.store.Case(ctx, id)
	if err != nil {
		return o, err
	}
	o.patient, o.title = k.Patient, k.Title
	if err := o.read(ctx, e.store.Book(id)); err != nil {
		return o, err
	}
	o.measured, err = e.desk.Open(ctx, id)
	return o, err
}

// Report writes the report or the patient's sheet.
func (e exporter) Report(ctx context.Context, w io.Writer, id int64, paper string, patient bool) error {
	o, err := e.opened(ctx, id)
	if err != nil {
		return err
	}
	if patient {
		return report.WritePatient(ctx, w, o.measured, o.options(pdf.Paper(paper)))
	}
	return report.Write(ctx, w, o.measured, o.options(pdf.Paper(paper)))
}

// Export writes a case in a format.
func (e exporter) Export(ctx context.Context, w io.Writer, id int64, format, of string) error {
	o, err := e.opened(ctx, id)
	if err != nil {
		return err
	}
	err = o.export(ctx, w, format, reading.ID(of))
	var none *report.NotShown
	if errors.As(err, &none) {
		return &web.Refusal{Text: none.Error()}
	}
	return err
}
