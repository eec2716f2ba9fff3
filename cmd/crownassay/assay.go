package main

import (
	"bufio"
	"fmt"

	"crownassay/assay"
	"crownassay/internal/par"
	"crownassay/record"
)

type assayCommand struct {
	benchFlags
	Case    string `arg:"" help:"Folder with case.yaml, or the file itself."`
	JSON    bool   `name:"json" help:"Print one JSON document instead of the ledger."`
	Out     string `placeholder:"DIR" help:"Also write record.json and ledger.txt into DIR."`
	Keep    bool   `help:"Also add the run to the case's own record, in the folder \"record\" beside case.yaml."`
	Who     string `env:"CROWNASSAY_WHO" placeholder:"INITIALS" help:"Who keeps the run."`
	Workers int    `placeholder:"N" help:"Use N processors instead of all; the result is the same."`
}

// Run measures the case, writes what was asked for and returns the outcome.
func (c *assayCommand) Run(p *program) error {
	if c.Workers < 0 {
		return fmt.Errorf("read --workers %d: below zero; give a number of processors, or leave it out for all", c.Workers)
	}
	par.Workers = c.Workers
	_, m, err := p.measure(c.Case, &c.benchFlags)
	if err != nil {
		return err
	}
	r := m.Record
	if c.Out != "" {
		if err := r.Write(c.Out); err != nil {
			return err
		}
	}
	if c.Keep {
		if err := c.keep(p, r); err != nil {
			return err
		}
	}
	if err := p.print(r, c.JSON); err != nil {
		return fmt.Errorf("print record: %w", err)
	}
	if s := r.ExitStatus(); s != statusConforms {
		return outcome(s)
	}
	return nil
}

// keep adds the run to the record in the case's folder.
func (c *assayCommand) keep(p *program, r *record.Record) error {
	run, err := newRun(0, r)
	if err != nil {
		return err
	}
	s, err := record.OpenFolder(caseFolder(c.Case), nil).AddRun(p.ctx, run.Document, c.Who)
	if err != nil {
		return err
	}
	fmt.Fprintf(p.stderr, "crownassay: kept as entry %d of the record\n", s.Number)
	return nil
}

// measure loads and measures one case, with progress on a terminal. What the
// case does not say of the scanner is taken from the bench; nil for not.
func (p *program) measure(path string, bench *benchFlags) (*assay.Case, *assay.Measured, error) {
	c, err := assay.LoadCase(path)
	if err != nil {
		return nil, nil, err
	}
	if bench != nil {
		if err := bench.scanner(p.ctx, c); err != nil {
			return nil, nil, err
		}
	}
	tell, end := newProgress(p.ctx, p.stderr)
	defer end()
	m, err := assay.Measure(p.ctx, c, assay.Options{Progress: tell})
	return c, m, err
}

func (p *program) print(r *record.Record, asJSON bool) error {
	w := bufio.NewWriter(p.stdout)
	var err error
	if asJSON {
		err = r.WriteJSON(w)
	} else {
		err = r.Ledger(w, look(p.stdout))
	}
	if err != nil {
		return err
	}
	return w.Flush()
}
