package main

import (
	"fmt"
	"os"
	"path/filepath"
	"sync/atomic"
	"time"

	"crownassay/assay"
	"crownassay/internal/par"
	"crownassay/internal/phantom"
	"crownassay/internal/twoyears"
	"crownassay/record"
)

// demoArchive is how many crowns of the invented history have scans.
const demoArchive = 24

// inventHistory puts an invented history of two years on the bench: outcomes,
// visits, and the scans of the newest crowns, measured.
func (p *program) inventHistory(b *bench) error {
	rows := twoyears.Crowns(&twoyears.Usual, 1)
	did, err := importRows(p, b, rows, "DEMO")
	if err != nil {
		return fmt.Errorf("invent the history of a practice: %w", err)
	}
	if did.Cases == 0 {
		return nil // it is there
	}
	for _, v := range append(twoyears.Visits(rows, 1), twoyears.Today(time.Now(), 1)...) {
		if _, err := b.store.ImportVisit(p.ctx, v); err != nil {
			return fmt.Errorf("invent the visits of a practice: %w", err)
		}
	}
	if err := p.inventArchive(b, twoyears.Archive(rows, demoArchive, 1)); err != nil {
		return fmt.Errorf("invent the scans of a practice: %w", err)
	}
	_, err = fmt.Fprintf(p.stdout, "An invented practice with %s of two years is on the bench: see Visits, Outcomes, Contacts, Survival and Audit.\n\n", count(did.Cases, "crown", "crowns"))
	return err
}

// measuredScan is what was made of one invented scan.
type measuredScan struct {
	of  *assay.Case
	run record.Run
	err error
}

// inventArchive makes and measures scans side by side, and adds them in order.
func (p *program) inventArchive(b *bench, scans []twoyears.Scan) error {
	dir, err := os.MkdirTemp("", "crownassay-demo-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	tell, end := newProgress(p.ctx, p.stderr)
	defer end()
	var done atomic.Int64
	all := make([]measuredScan, len(scans))
	err = par.Do(p.ctx, len(scans), 1, func(from, to int) {
		for i := from; i < to; i++ {
			all[i].err = p.measureScan(filepath.Join(dir, fmt.Sprint(i)), scans[i].Spec, &all[i])
			if n := int(done.Add(1)); tell != nil {
				tell("scans of earlier crowns", n, len(scans))
			}
		}
	})
	if err != nil {
		return err
	}
	cases, err := b.store.Cases(p.ctx)
	if err != nil {
		return err
	}
	of := map[string]int64{}
	for _, k := range cases {
		of[k.Patient] = k.ID
	}
	for i := range all {
		m := &all[i]
		if m.err != nil {
			return m.err
		}
		run, err := b.addCase(p.ctx, of[scans[i].Row.Patient], m.of, "")
		if err != nil {
			return err
		}
		run.Document, run.Who = m.run.Document, "DEMO"
		if _, err := b.store.AddRun(p.ctx, run); err != nil {
			return err
		}
	}
	return nil
}

// measureScan writes an invented scan and measures it.
func (p *program) measureScan(dir string, spec phantom.Spec, m *measuredScan) error {
	c, err := phantom.Scans(p.ctx, spec)
	if err != nil {
		return err
	}
	if err = c.Write(dir); err != nil {
		return err
	}
	if m.of, err = assay.LoadCase(dir); err != nil {
		return err
	}
	r, err := assay.Measure(p.ctx, m.of, assay.Options{})
	if err != nil {
		return fmt.Errorf("measure the scan of %s: %w", spec.Name, err)
	}
	m.run, err = newRun(0, r.Record)
	return err
}
