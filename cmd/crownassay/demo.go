package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"crownassay/internal/phantom"
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
