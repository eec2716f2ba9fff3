package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"crownassay/audit"
	"crownassay/audit/results"
	"crownassay/internal/par"
)

// The files of an audit.
const (
	auditJournal = "audit.db"
	auditJSON    = "audit.json"
	auditValues  = "readings.csv"
	auditSummary = "summary.csv"
	auditText    = "audit.txt"
)

type auditCommand struct {
	benchFlags
	fleetFlags
	Dir     string        `arg:"" help:"Folder with case folders in it, however deep, or the folder of a bench."`
	Out     string        `required:"" placeholder:"DIR" help:"Folder for the results; what is in it already of cases that have not changed is not measured again."`
	JSON    bool          `name:"json" help:"Print one JSON document instead of text."`
	AtOnce  int           `placeholder:"N" help:"Cases at a time; by default as many as there are processors. Fewer take less memory."`
	Workers int           `placeholder:"N" help:"Use N processors instead of all; the result is the same."`
	Longest time.Duration `default:"10m" help:"How long a case may take."`
	Again   bool          `help:"Measure also what has not changed."`
}

// Run measures the archive and writes what it comes to. The status is 0 also
// when cases fail or could not be measured: it is what an audit looks for.
func (c *auditCommand) Run(p *program) error {
	if c.AtOnce < 0 || c.Workers < 0 || c.Longest <= 0 {
		return errors.New("read the command line: --at-once, --workers and --longest must be above zero")
	}
	par.Workers = c.Workers
	if err := os.MkdirAll(c.Out, 0o755); err != nil {
		return fmt.Errorf("make folder for the audit: %w; choose a folder that can be written", err)
	}
	scanner, err := c.known(p.ctx)
	if err != nil {
		return err
	}
	a, err := openArchive(p.ctx, c.Dir, c.Out, scanner)
	if err != nil {
		return err
	}
	measure := c.measure
	if c.Jobs != "" || c.Meshes != "" {
		measure = c.elsewhere
	}
	cases, err := measure(p, a)
	if err = errors.Join(err, a.close()); err != nil {
		return err
	}
	return c.write(p, cases)
}

// measure measures what the journal does not have.
func (c *auditCommand) measure(p *program, a *archive) ([]audit.Case, error) {
	j, err := results.Open(p.ctx, filepath.Join(c.Out, auditJournal))
	if err != nil {
		return nil, err
	}
	items := a.items()
	var journal audit.Journal = j
	if c.Again {
		journal = forgetful{j}
	}
	tell, end := newProgress(p.ctx, p.stderr)
	start := time.Now()
	cases, tally, err := audit.Run(p.ctx, items, journal, audit.Settings{AtOnce: c.AtOnce, Longest: c.Longest, Progress: func(name string, done, total int) {
		if tell != nil {
			tell(fmt.Sprintf("%d of %d cases, %s", done, total, remains(start, done, total)), done, total)
		}
	}})
	end()
	if err = errors.Join(err, j.Close()); err != nil {
		if p.ctx.Err() != nil {
			fmt.Fprintf(p.stderr, "crownassay: what was measured is kept in %s; the same command goes on from there\n", c.Out)
		}
		return nil, err
	}
	fmt.Fprintln(p.stderr, "crownassay:", tallied(tally))
	return cases, nil
}

// elsewhere has the workers of other machines measure it.
func (c *auditCommand) elsewhere(p *program, a *archive) ([]audit.Case, error) {
	m, err := c.open(p, 0, nil)
	if err != nil {
		return nil, err
	}
	fmt.Fprintln(p.stderr, "crownassay: cases are measured by \"crownassay work\" with the same --jobs and --meshes, on any machine")
	tell, end := newProgress(p.ctx, p.stderr)
	w := &collection{meeting: m, longest: c.Longest, again: c.Again, tell: tell}
	cases, tally, err := w.collect(p.ctx, a)
	end()
	if err = errors.Join(err, m.close()); err != nil {
		return nil, err
	}
	fmt.Fprintln(p.stderr, "crownassay:", tallied(tally))
	return cases, nil
}

// remains says how much longer it takes, from how long it took so far.
func remains(start time.Time, done, total int) string {
	each := time.Since(start) / time.Duration(done)
	return "about " + (time.Duration(total-done) * each).Round(time.Second).String() + " left"
}

// tallied says how the cases ended.
func tallied(t audit.Tally) string {
	s := fmt.Sprintf("%d cases measured", t.Kinds[audit.Measured])
	for _, k := range []struct {
		kind audit.Kind
		says string
	}{{audit.Refused, "could not be"}, {audit.Not, "could not be read"}, {audit.Late, "took too long"}, {audit.Broken, "in which the program failed"}} {
		if n := t.Kinds[k.kind]; n > 0 {
			s += fmt.Sprintf(", %d %s", n, k.says)
		}
	}
	if t.Had > 0 {
		s += fmt.Sprintf("; %d of them were there already", t.Had)
	}
	return s
}

// forgetful is a journal whose results are made again.
type forgetful struct{ *results.Results }

func (f forgetful) Get(ctx context.Context, key string) (audit.Result, bool, error) {
	return audit.Result{}, false, f.Forget(ctx, []string{key})
}

// write puts the files of the audit in place and prints what was asked for.
func (c *auditCommand) write(p *program, cases []audit.Case) error {
	r := audit.Make(cases)
	var doc, values, summary, text bytes.Buffer
	e := json.NewEncoder(&doc)
	e.SetEscapeHTML(false)
	if err := errors.Join(e.Encode(audit.WholeOf(r, cases)), audit.WriteValues(&values, cases), r.WriteSummary(&summary), r.WriteText(&text)); err != nil {
		return err
	}
	for name, b := range map[string]*bytes.Buffer{auditJSON: &doc, auditValues: &values, auditSummary: &summary, auditText: &text} {
		if err := writeFile(filepath.Join(c.Out, name), b.Bytes()); err != nil {
			return err
		}
	}
	out := &text
	if c.JSON {
		out = &doc
	}
	_, err := p.stdout.Write(out.Bytes())
	return err
}
