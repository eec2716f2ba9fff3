package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"time"

	"crownassay/assay"
	"crownassay/conformity"
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
	Store string `placeholder:"DIR" help:"Folder of the bench; by default one in your own configuration folder."`
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
	b := &bench{Bench: web.Bench{Store: s, Visits: s, Measurer: d}, store: s, desk: d}
	b.Exporter, b.Describer = exporter{b}, describer{}
	return b, nil
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
	b.desk.Close()
	return errors.Join(ended, b.store.Close())
}

// add puts a case that was measured from its folder into the store, with its
// run and what is drawn of it. A case of the same title that is there already
// is left as it is.
func (b *bench) add(ctx context.Context, c *assay.Case, title string, m *assay.Measured) error {
	had, err := b.store.Cases(ctx)
	if err != nil {
		return err
	}
	for _, k := range had {
		if k.Title == title {
			return nil
		}
	}
	run, err := b.addCase(ctx, 0, c, title)
	if err != nil {
		return err
	}
	measured, err := newRun(run.Case, m.Record)
	if err != nil {
		return err
	}
	run.Document = measured.Document
	if _, err = b.store.AddRun(ctx, run); err != nil {
		return err
	}
	return b.desk.Adopt(ctx, run.Case, m)
}

// newRun is a run of a case as it is kept.
func newRun(id int64, r *record.Record) (record.Run, error) {
	var doc bytes.Buffer
	err := r.WriteJSON(&doc)
	return record.Run{Case: id, Document: doc.Bytes()}, err
}

// addCase puts a case folder into the store, or what is missing of it into the
// case of that number, and returns what a run of it is made of.
func (b *bench) addCase(ctx context.Context, id int64, c *assay.Case, title string) (run record.Run, err error) {
	if run.Case = id; id == 0 {
		k, err := keptOf(c, title)
		if err != nil {
			return run, err
		}
		if k, err = b.store.AddCase(ctx, k); err != nil {
			return run, err
		}
		run.Case = k.ID
	}
	for _, s := range c.Surfaces {
		id, err := b.addFile(ctx, run.Case, s)
		if err != nil {
			return run, err
		}
		run.Takes = append(run.Takes, id)
	}
	if len(c.FinishLine) > 0 {
		l, err := b.store.AddLine(ctx, record.Drawn{Case: run.Case, Points: c.FinishLine})
		if err != nil {
			return run, err
		}
		run.Line = l.ID
	}
	return run, nil
}

// begun finds the case that was made of a folder before, also when the program
// was stopped half way: its title is the same and it has none but the folder's
// files. Missing is how many of them it does not have yet.
func (b *bench) begun(ctx context.Context, c *assay.Case, title string) (id int64, missing int, err error) {
	of := map[string]bool{}
	for _, s := range c.Surfaces {
		content, err := os.ReadFile(s.Path)
		if err != nil {
			return 0, 0, err
		}
		sum := sha256.Sum256(content)
		of[hex.EncodeToString(sum[:])] = true
	}
	all, err := b.store.Cases(ctx)
	if err != nil {
		return 0, 0, err
	}
	for _, k := range all {
		if k.Title != title {
			continue
		}
		takes, err := b.store.Takes(ctx, k.ID)
		if err != nil {
			return 0, 0, err
		}
		if !slices.ContainsFunc(takes, func(t record.Take) bool { return !of[t.SHA256] }) {
			return k.ID, len(of) - len(takes), nil
		}
	}
	return 0, len(of), nil
}

// keptOf is a case of a folder as the store keeps it.
func keptOf(c *assay.Case, title string) (record.Kept, error) {
	stated := c.ScannerUM
	if c.ScannerFrom != "" {
		stated = 0
	}
	k := record.Kept{Tooth: c.Tooth.ISO(), Numbering: string(c.Numbering), Material: c.Material.Name, Unit: c.Unit, Title: title,
		ScannerUM: stated, At: c.At, Mesial: c.Mesial}
	if k.Numbering == "universal" {
		k.Tooth = fmt.Sprint(c.Tooth.Universal())
	}
	if c.Rule != "" && c.Rule != conformity.GuardBand {
		return k, fmt.Errorf("read %s: the bench compares with limits by a guard band, not by the rule %q: leave the rule out, or measure the case with crownassay assay", c.Path, c.Rule)
	}
	if c.LutingFile != "" {
		return k, fmt.Errorf("read %s: the bench has one set of luting rules for all its cases: leave luting out and give %s to the bench, on the page of a case under \"Cement or bond\"", c.Path, c.LutingFile)
	}
	if um := 1000 * c.CementSpace; c.CementSpace != c.Limits.CementSpace.MM {
		k.CementUM = &um
	}
	if um := 1000 * c.ToolRadius; c.ToolRadius != c.Limits.ToolRadius.MM {
		k.ToolUM = &um
	}
	if len(c.Blocks) == 1 && len(c.Limits.Blocks) > 1 {
		k.Block = c.Blocks[0].Name
	}
	if c.LimitsFile == "" {
		return k, nil
	}
	at := c.LimitsFile
	if !filepath.IsAbs(at) {
		at = filepath.Join(filepath.Dir(c.Path), at)
	}
	text, err := os.ReadFile(at)
	k.Own = record.OwnLimits{File: filepath.Base(c.LimitsFile), Text: string(text)}
	return k, err
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
