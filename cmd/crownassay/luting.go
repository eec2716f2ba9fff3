package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"strconv"

	"crownassay/assay"
	"crownassay/conformity"
	"crownassay/luting"
	"crownassay/record"
)

// mouthFlags are what a person says of the mouth; what is left out was not
// entered.
type mouthFlags struct {
	Isolation string   `enum:",rubber-dam,rolls-and-suction,not-possible" default:"" placeholder:"WORD" help:"Of the field: rubber-dam, rolls-and-suction or not-possible."`
	Depth     *float64 `placeholder:"MM" help:"Of the finish line below the gingival margin, mm; below zero above it."`
	Substrate string   `enum:",enamel,dentine,composite,metal" default:"" placeholder:"WORD" help:"At the finish line and in what is bonded to: enamel, dentine, or a build-up of composite or metal."`
	Temporary string   `enum:",none,eugenol-free,eugenol" default:"" placeholder:"WORD" help:"The cement that held a crown before: none, eugenol-free or eugenol."`
	Rules     string   `placeholder:"FILE" help:"The practice's own luting rules, instead of those of the case or the bench."`
}

func (f *mouthFlags) entered() luting.Entered {
	return luting.Entered{Isolation: f.Isolation, Depth: f.Depth, Substrate: f.Substrate, Temporary: f.Temporary}
}

// tables are a case's limits and luting rules.
type tables struct {
	limits *conformity.Limits
	rules  *luting.Rules
	folder *assay.Case // nil for a case of the bench
}

// tables reads the limits and the rules of a case; own is the file of rules
// that is taken instead, empty for none.
func (f *bookFlags) tables(ctx context.Context, own string) (t tables, err error) {
	id, err := strconv.ParseInt(f.Case, 10, 64)
	if err != nil {
		if t.folder, err = assay.LoadCase(f.Case); err != nil {
			return t, err
		}
		t.limits, t.rules = t.folder.Limits, t.folder.Luting
	} else if err := f.benchTables(ctx, id, &t); err != nil {
		return t, err
	}
	if own == "" {
		return t, nil
	}
	text, err := os.ReadFile(own)
	if err != nil {
		return t, fmt.Errorf("read --rules: %w", err)
	}
	t.rules, err = luting.With(own, string(text))
	return t, err
}

func (f *bookFlags) benchTables(ctx context.Context, id int64, t *tables) error {
	s, err := f.openStore(ctx)
	if err != nil {
		return err
	}
	k, err := s.Case(ctx, id)
	if err == nil {
		t.limits, err = conformity.With(k.Own.File, k.Own.Text)
	}
	var o record.OwnLimits
	if err == nil {
		o, err = record.LutingRules(ctx, s)
	}
	if err == nil {
		t.rules, err = luting.With(o.File, o.Text)
	}
	return errors.Join(err, s.Close())
}

type lutingCommand struct {
	bookFlags
	mouthFlags
	Family string `placeholder:"NAME" help:"Give the steps for this family; by default those for the first that is supported."`
	JSON   bool   `name:"json" help:"Print one JSON document with the steps for every family."`
}

// Run says what the rules say of the newest run, or of the case as measured
// now where its record has none.
func (c *lutingCommand) Run(p *program) error {
	t, err := c.tables(p.ctx, c.Rules)
	if err != nil {
		return err
	}
	if c.Family != "" {
		if _, err := t.rules.Family(c.Family); err != nil {
			return err
		}
	}
	d, of, err := c.document(p, &t)
	if err != nil {
		return err
	}
	k, err := d.Luting(t.limits, c.entered())
	if err != nil {
		return err
	}
	v, err := t.rules.Judge(k)
	if err != nil {
		return err
	}
	if c.JSON {
		e := json.NewEncoder(p.stdout)
		e.SetIndent("", "  ")
		return e.Encode(v)
	}
	return lutingText(p.stdout, d, of, &v, c.Family)
}

// document is that of the newest run in the record, or of the folder as
// measured now; of says which.
func (c *lutingCommand) document(p *program, t *tables) (d *record.Document, of string, err error) {
	b, end, err := c.openBook(p.ctx)
	if err != nil {
		return nil, "", err
	}
	all, err := record.Entries(p.ctx, b)
	var run *record.Sealed
	var doc []byte
	if err == nil {
		run, doc, err = record.NewestRun(p.ctx, b, all)
	}
	if err = errors.Join(err, end()); err != nil {
		return nil, "", err
	}
	switch {
	case run != nil:
		of = fmt.Sprintf("by entry %d of the record, %s", run.Number, run.At.Format("2006-01-02 15:04"))
	case t.folder == nil:
		return nil, "", fmt.Errorf("read case %s: it has not been measured yet; measure it on the bench first", c.Case)
	default:
		if doc, err = c.measured(p, t.folder); err != nil {
			return nil, "", err
		}
		of = "as measured now"
	}
	d, err = record.ReadDocument(doc)
	return d, of, err
}

func (c *lutingCommand) measured(p *program, of *assay.Case) ([]byte, error) {
	if err := c.scanner(p.ctx, of); err != nil {
		return nil, err
	}
	m, err := p.measureCase(of)
	if err != nil {
		return nil, err
	}
	var doc bytes.Buffer
	err = m.Record.WriteJSON(&doc)
	return doc.Bytes(), err
}

type recordLuting struct {
	bookFlags
	Family string `arg:"" help:"Family of the luting material, as \"crownassay luting\" lists them."`
	recordWho
	mouthFlags
	Date   string `placeholder:"DATE" help:"When the crown was fixed, as 2026-05-31; today if left out."`
	Remark string `placeholder:"TEXT" help:"What should be known."`
}

// Run keeps how the crown is fixed, with what the rules say of it.
func (c *recordLuting) Run(p *program) error {
	t, err := c.tables(p.ctx, c.Rules)
	if err != nil {
		return err
	}
	return c.newest(p, func(b record.Book, s *record.Standing, d *record.Document) error {
		e, err := s.Lute(d, t.limits, t.rules, record.LutingChoice{Family: c.Family, Date: c.Date, Remark: c.Remark, Who: c.Who, Entered: c.entered()})
		return p.add(b, e, err)
	})
}
