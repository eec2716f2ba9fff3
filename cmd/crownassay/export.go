package main

import (
	"bytes"
	"fmt"
	"io"
	"strings"

	"crownassay/fhir"
	"crownassay/meshio"
	"crownassay/pdf"
	"crownassay/reading"
	"crownassay/record"
	"crownassay/report"
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
	if err := c.write(p, &b, &o); err != nil {
		return err
	}
	return writeFile(c.Out, b.Bytes())
}

func (c *exportCommand) write(p *program, w io.Writer, o *openedCase) error {
	if c.Format == "json" {
		return o.measured.Record.WriteJSON(w)
	}
	if c.Format == "glb" || c.Format == "ply" {
		s, err := report.Colored(p.ctx, o.measured, reading.ID(c.Reading))
		if err != nil {
			return err
		}
		if c.Format == "glb" {
			return meshio.WriteGLB(w, s)
		}
		return meshio.WriteColoredPLY(w, s)
	}
	run, err := newRun(0, o.measured.Record)
	if err != nil {
		return err
	}
	d, err := record.ReadDocument(run.Document)
	if err != nil {
		return err
	}
	if c.Format == "csv" {
		return d.WriteCSV(w)
	}
	return o.fhir(p, w, d, record.Hash(run.Document))
}

// fhir writes the bundle with the report in it.
func (o *openedCase) fhir(p *program, w io.Writer, d *record.Document, hash string) error {
	var sheet bytes.Buffer
	opt := report.Options{Paper: pdf.A4, Patient: o.patient, Title: o.title, Entries: o.entries}
	if err := report.Write(p.ctx, &sheet, o.measured, opt); err != nil {
		return err
	}
	r := fhir.Run{Document: d, Hash: hash, Patient: strings.TrimSpace(o.patient), Entries: o.entries, Kept: record.KeptAs(o.entries, hash), Report: sheet.Bytes()}
	return r.Write(w)
}
