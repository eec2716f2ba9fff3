package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"crownassay/assay"
	"crownassay/desk"
	"crownassay/jobs"
	"crownassay/record"
	"crownassay/sqlite"
	"crownassay/web"
)

// jobsFile is the queue's file in the store's folder.
const jobsFile = "jobs.db"

// benchFlags say where a bench keeps its cases.
type benchFlags struct {
	Store string `placeholder:"DIR" help:"Folder of the bench's cases; by default one in your own configuration folder."`
}

// dir returns the folder, the default one where none is given.
func (f *benchFlags) dir() (string, error) {
	if f.Store != "" {
		return f.Store, nil
	}
	home, err := os.UserConfigDir()
	if err != nil {
		return "", fmt.Errorf("find a folder for the bench's cases: %w; give one with --store DIR", err)
	}
	return filepath.Join(home, "crownassay", "bench"), nil
}

// bench is a store with what works on it.
type bench struct {
	web.Bench
	store *sqlite.Store
	desk  *desk.Desk
	queue *jobs.Queue // nil until jobs are worked
}

// openBench opens the store in a folder.
func openBench(ctx context.Context, dir string) (*bench, error) {
	s, err := sqlite.Open(ctx, dir, nil)
	if err != nil {
		return nil, err
	}
	d := desk.New(s)
	return &bench{Bench: web.Bench{Store: s, Measurer: d}, store: s, desk: d}, nil
}

// work begins to run jobs, in a file of the store or, where an address is
// given, in that PostgreSQL database.
func (b *bench) work(ctx context.Context, dir, address string) (err error) {
	b.queue, err = jobs.Open(ctx, jobs.Config{File: filepath.Join(dir, jobsFile), Address: address,
		Work: func(ctx context.Context, id int64, tell jobs.Tell) error {
			return b.desk.Measure(ctx, id, desk.Telling(tell))
		}})
	b.Queue = b.queue
	return err
}

// close ends jobs and closes the store.
func (b *bench) close() error {
	var ended error
	if b.queue != nil {
		ctx, stop := context.WithTimeout(context.Background(), 10*time.Second)
		defer stop()
		ended = b.queue.Close(ctx)
	}
	return errors.Join(ended, b.store.Close())
}

// add puts a case folder into the store, with the record that was made of it.
// A case of the same title that is there already is left as it is.
func (b *bench) add(ctx context.Context, dir, title string, r *record.Record) error {
	had, err := b.store.Cases(ctx)
	if err != nil {
		return err
	}
	for _, k := range had {
		if k.Title == title {
			return nil
		}
	}
	c, err := assay.LoadCase(dir)
	if err != nil {
		return err
	}
	k := record.Kept{Numbering: string(c.Numbering), Material: c.Material.Name, Unit: c.Unit, Title: title, ScannerUM: c.ScannerUM, At: c.At, Mesial: c.Mesial}
	if k.Tooth = c.Tooth.ISO(); k.Numbering == "universal" {
		k.Tooth = fmt.Sprint(c.Tooth.Universal())
	}
	if k, err = b.store.AddCase(ctx, k); err != nil {
		return err
	}
	run, err := newRun(k.ID, r)
	if err != nil {
		return err
	}
	for _, s := range c.Surfaces {
		id, err := b.addFile(ctx, k.ID, s)
		if err != nil {
			return err
		}
		run.Takes = append(run.Takes, id)
	}
	if len(c.FinishLine) > 0 {
		l, err := b.store.AddLine(ctx, record.Drawn{Case: k.ID, Points: c.FinishLine})
		if err != nil {
			return err
		}
		run.Line = l.ID
	}
	_, err = b.store.AddRun(ctx, run)
	return err
}

// addFile adds a surface whose role the case states.
func (b *bench) addFile(ctx context.Context, id int64, s assay.Source) (int64, error) {
	f, err := os.Open(s.Path)
	if err != nil {
		return 0, err
	}
	defer f.Close()
	t, _, err := b.Take(ctx, id, filepath.Base(s.File), string(s.Role), f)
	return t.ID, err
}
