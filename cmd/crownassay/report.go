package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strconv"

	"crownassay/assay"
	"crownassay/desk"
	"crownassay/pdf"
	"crownassay/record"
	"crownassay/report"
)

type reportCommand struct {
	bookFlags
	Out     string `required:"" placeholder:"FILE" help:"PDF file to write."`
	Paper   string `enum:"a4,letter" default:"a4" help:"a4 or letter."`
	Patient bool   `help:"Write the sheet for the patient instead: one page in plain words."`
}

// Run measures the case and writes its report. The record, where there is one,
// gives the date.
func (c *reportCommand) Run(p *program) error {
	tell, end := newProgress(p.ctx, p.stderr)
	defer end()
	o, err := c.opened(p.ctx, tell)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	opt := o.options(pdf.Paper(c.Paper))
	opt.Progress = tell
	write := report.Write
	if c.Patient {
		write = report.WritePatient
	}
	if err := write(p.ctx, &b, o.measured, opt); err != nil {
		return err
	}
	return writeFile(c.Out, b.Bytes())
}

// openedCase is a case, measured, with its record.
type openedCase struct {
	measured       *assay.Measured
	patient, title string
	entries        []record.Sealed
	run            *record.Sealed // the newest one
	kept           []byte         // its document
}

// read reads the case's record.
func (o *openedCase) read(ctx context.Context, b record.Book) (err error) {
	if o.entries, err = record.Entries(ctx, b); err != nil {
		return err
	}
	o.run, o.kept, err = record.NewestRun(ctx, b, o.entries)
	return err
}

// opened measures a case that is given as a folder or by its number on the
// bench.
func (f *bookFlags) opened(ctx context.Context, tell func(string, int, int)) (o openedCase, err error) {
	id, err := strconv.ParseInt(f.Case, 10, 64)
	if err != nil {
		c, err := assay.LoadCase(f.Case)
		if err != nil {
			return o, err
		}
		if err := f.scanner(ctx, c); err != nil {
			return o, err
		}
		if err := o.read(ctx, record.OpenFolder(caseFolder(f.Case), nil)); err != nil {
			return o, err
		}
		o.measured, err = assay.Measure(ctx, c, assay.Options{Progress: tell})
		return o, err
	}
	s, err := f.openStore(ctx)
	if err != nil {
		return o, err
	}
	o, err = exporter{&bench{store: s, desk: desk.New(s)}}.opened(ctx, id)
	return o, errors.Join(err, s.Close())
}

// writeFile writes a file whole or not at all.
func writeFile(path string, b []byte) error {
	if info, err := os.Stat(filepath.Dir(path)); err != nil || !info.IsDir() {
		return fmt.Errorf("write %s: there is no folder %s; make it first, or choose another", path, filepath.Dir(path))
	}
	return record.Replace(path, b)
}
