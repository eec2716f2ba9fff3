package main

import (
	"bufio"
	"fmt"

	"crownassay/assay"
	"crownassay/conformity"
	"crownassay/internal/par"
	"crownassay/record"
)

type assayCommand struct {
	benchFlags
	Case     string `arg:"" help:"Folder with case.yaml, or the file itself."`
	JSON     bool   `name:"json" help:"Print one JSON document instead of the ledger."`
	Out      string `placeholder:"DIR" help:"Also write record.json and ledger.txt into DIR."`
	Keep     bool   `help:"Also add the run to the case's own record, in the folder \"record\" beside case.yaml."`
	Who      string `env:"CROWNASSAY_WHO" placeholder:"INITIALS" help:"Who keeps the run."`
	Budget   bool   `help:"Show the uncertainty budget of each reading, and measure again on perturbed surfaces (Monte Carlo)."`
	Draws    int    `default:"60" placeholder:"N" help:"How often to measure again with --budget; at least 40, or 0 not to."`
	Seed     uint64 `default:"1" placeholder:"N" help:"Of the draws; the same seed gives the same."`
	Adaptive bool   `help:"Go on drawing in blocks of --draws until the results are stable."`
	Rule     string `enum:",guard,simple,probability" default:"" placeholder:"RULE" help:"How values are compared with limits: guard (a guard band, the default), simple or probability; goes before the case's own."`
	Workers  int    `placeholder:"N" help:"Use N processors instead of all; the result is the same."`
}

// Run measures the case, writes what was asked for and returns the outcome.
func (c *assayCommand) Run(p *program) error {
	if c.Workers < 0 {
		return fmt.Errorf("read --workers %d: below zero; give a number of processors, or leave it out for all", c.Workers)
	}
	par.Workers = c.Workers
	m, err := c.measure(p)
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

// measure measures the case, again and again where the budget is asked for.
func (c *assayCommand) measure(p *program) (*assay.Measured, error) {
	if c.Budget && c.Draws != 0 && c.Draws < assay.LeastDraws {
		return nil, fmt.Errorf("read --draws %d: too few to show the middle 95 %%; give at least %d, or 0 for none", c.Draws, assay.LeastDraws)
	}
	of, err := assay.LoadCase(c.Case)
	if err != nil {
		return nil, err
	}
	if err := c.scanner(p.ctx, of); err != nil {
		return nil, err
	}
	if c.Rule != "" {
		of.Rule = conformity.Rule(c.Rule)
	}
	m, err := p.measureCase(of)
	if err != nil || !c.Budget {
		return m, err
	}
	tell, end := newProgress(p.ctx, p.stderr)
	defer end()
	d := assay.Draws{Count: c.Draws, Seed: c.Seed, Adaptive: c.Adaptive}
	if tell != nil {
		d.Progress = func(done, total int) { tell("measuring again on perturbed surfaces", done, total) }
	}
	return m, m.MonteCarlo(p.ctx, d)
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
	m, err := p.measureCase(c)
	return c, m, err
}

func (p *program) measureCase(c *assay.Case) (*assay.Measured, error) {
	tell, end := newProgress(p.ctx, p.stderr)
	defer end()
	return assay.Measure(p.ctx, c, assay.Options{Progress: tell})
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
