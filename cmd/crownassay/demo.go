package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"crownassay/internal/phantom"
	"crownassay/internal/twoyears"
	"crownassay/record"
)

type demoCommand struct {
	Dir string `arg:"" optional:"" default:"demo" help:"Folder to write the cases into."`
}

// demoEnds is set in the environment where the demonstration is to end by
// itself, as it does anyway when nobody looks at its output.
const demoEnds = "DEMO_EXIT"

// Run writes each invented case, measures it, writes its record beside it,
// prints the ledger and puts all of it on a bench, which is then served where
// someone looks. A case that fails is what the demonstration is for, so the
// status is 0 unless one could not be measured.
func (c *demoCommand) Run(p *program) error {
	dir := filepath.Join(c.Dir, "bench")
	b, err := openBench(p.ctx, dir)
	if err != nil {
		return err
	}
	var unable []error
	if err := p.inventHistory(b); err != nil {
		return errors.Join(err, b.close())
	}
	for _, spec := range phantom.Demo() {
		dir := filepath.Join(c.Dir, spec.Name)
		if err := p.demonstrate(spec, dir, b); err != nil {
			if p.ctx.Err() != nil {
				return errors.Join(err, b.close())
			}
			unable = append(unable, fmt.Errorf("demonstrate %s: %w", dir, err))
		}
	}
	if isTerminal(p.stdout) && os.Getenv(demoEnds) == "" {
		serve := serveCommand{Listen: "127.0.0.1:0", Open: true}
		unable = append(unable, serve.serve(p, b, dir))
	} else {
		fmt.Fprintf(p.stdout, "All of it is on a bench: crownassay serve --store %s\n", dir)
	}
	return errors.Join(append(unable, b.close())...)
}

func (p *program) demonstrate(spec phantom.Spec, dir string, b *bench) error {
	made, err := phantom.Build(p.ctx, spec)
	if err != nil {
		return err
	}
	if err := made.Write(dir); err != nil {
		return err
	}
	fmt.Fprintf(p.stdout, "== %s ==\n%s\n\n", spec.Title, spec.Story)
	c, m, err := p.measure(dir, nil)
	if err != nil {
		return err
	}
	r := m.Record
	if err := r.Write(dir); err != nil {
		return err
	}
	if err := b.add(p.ctx, c, strings.TrimSuffix(spec.Title, ", "+c.Tooth.Name()), m); err != nil {
		return err
	}
	if err := p.print(r, false); err != nil {
		return err
	}
	_, err = fmt.Fprintf(p.stdout, "\nThe case, its surfaces, %s and %s are in %s.\n\n", record.JSONFile, record.LedgerFile, dir)
	return err
}

// inventHistory puts an invented history of two years on the bench.
func (p *program) inventHistory(b *bench) error {
	rows := twoyears.Crowns(&twoyears.Usual, 1)
	did, err := importRows(p, b, rows, "DEMO")
	if err != nil {
		return fmt.Errorf("invent the history of a practice: %w", err)
	}
	if did.Cases > 0 {
		fmt.Fprintf(p.stdout, "An invented practice with %s of two years is on the bench: see Visits, Outcomes, Contacts and Survival.\n\n", count(did.Cases, "crown", "crowns"))
	}
	had, err := b.store.Visits(p.ctx)
	if err != nil || len(had) > 0 {
		return err
	}
	for _, v := range append(twoyears.Visits(rows, 1), twoyears.Today(time.Now(), 1)...) {
		if _, err := b.store.ImportVisit(p.ctx, v); err != nil {
			return fmt.Errorf("invent the visits of a practice: %w", err)
		}
	}
	return nil
}
