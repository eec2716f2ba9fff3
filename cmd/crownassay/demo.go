package main

import (
	"errors"
	"fmt"
	"path/filepath"

	"crownassay/internal/phantom"
	"crownassay/record"
)

type demoCommand struct {
	Dir string `arg:"" optional:"" default:"demo" help:"Folder to write the cases into."`
}

// Run writes each invented case, measures it, writes its record beside it and
// prints the ledger. A case that fails is what the demonstration is for, so
// the status is 0 unless one could not be measured.
func (c *demoCommand) Run(p *program) error {
	var unable []error
	for _, spec := range phantom.Demo() {
		dir := filepath.Join(c.Dir, spec.Name)
		if err := p.demonstrate(spec, dir); err != nil {
			if p.ctx.Err() != nil {
				return err
			}
			unable = append(unable, fmt.Errorf("demonstrate %s: %w", dir, err))
		}
	}
	return errors.Join(unable...)
}

func (p *program) demonstrate(spec phantom.Spec, dir string) error {
	made, err := phantom.Build(p.ctx, spec)
	if err != nil {
		return err
	}
	if err := made.Write(dir); err != nil {
		return err
	}
	fmt.Fprintf(p.stdout, "== %s ==\n%s\n\n", spec.Title, spec.Story)
	r, err := p.measure(dir)
	if err != nil {
		return err
	}
	if err := r.Write(dir); err != nil {
		return err
	}
	if err := p.print(r, false); err != nil {
		return err
	}
	_, err = fmt.Fprintf(p.stdout, "\nThe case, its surfaces, %s and %s are in %s.\n\n", record.JSONFile, record.LedgerFile, dir)
	return err
}
