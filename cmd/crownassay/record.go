package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"crownassay/reading"
	"crownassay/record"
	"crownassay/sqlite"
)

// recordCommand is what is done with the record of a case.
type recordCommand struct {
	List     recordList     `cmd:"" help:"List the entries of a case's record."`
	Show     recordShow     `cmd:"" help:"Show one entry, or what the record comes to."`
	Verify   recordVerify   `cmd:"" help:"Look whether every entry, run and file is as it was kept; names the first that is not."`
	Confirm  recordConfirm  `cmd:"" help:"Confirm a hold point after looking at the newest run."`
	Lot      recordLot      `cmd:"" help:"Keep the lot number of the block, the tool or the cement, typed or scanned."`
	Luting   recordLuting   `cmd:"" help:"Keep by which family of luting material the crown is fixed."`
	TryIn    recordTryIn    `cmd:"" help:"Keep what was found when the crown was tried in."`
	Recall   recordRecall   `cmd:"" help:"Keep what was found at a later visit."`
	Override recordOverride `cmd:"" help:"Judge a reading of the newest run otherwise than the program, with the reason."`
	Correct  recordCorrect  `cmd:"" help:"Say that an earlier entry does not hold, and why."`
}

// bookFlags say whose record it is.
type bookFlags struct {
	benchFlags
	Case string `arg:"" help:"Folder of a case, or the number of a case of the bench."`
}

// openBook opens the record of a case; end closes what was opened.
func (f *bookFlags) openBook(ctx context.Context) (b record.Book, end func() error, err error) {
	id, err := strconv.ParseInt(f.Case, 10, 64)
	if err != nil {
		dir := caseFolder(f.Case)
		if _, err := os.Stat(dir); err != nil {
			return nil, nil, fmt.Errorf("open the record of %s: no such folder; give a case's folder, or its number on the bench", f.Case)
		}
		return record.OpenFolder(dir, nil), func() error { return nil }, nil
	}
	s, err := f.openStore(ctx)
	if err != nil {
		return nil, nil, err
	}
	return s.Book(id), s.Close, nil
}

// caseFolder is the folder of a case that is given as such or by its file.
func caseFolder(path string) string {
	if info, err := os.Stat(path); err == nil && !info.IsDir() {
		return filepath.Dir(path)
	}
	return path
}

// openStore opens a store that is there: reading a record makes none.
func (f *benchFlags) openStore(ctx context.Context) (*sqlite.Store, error) {
	dir, err := f.dir()
	if err != nil {
		return nil, err
	}
	if !sqlite.Is(dir) {
		return nil, fmt.Errorf("open store %s: there is no bench; give its folder with --store DIR, or a case's folder instead of its number", dir)
	}
	return sqlite.Open(ctx, dir, nil)
}

// with opens the record, does something with it and closes it.
func (f *bookFlags) with(p *program, do func(record.Book, []record.Sealed) error) error {
	b, end, err := f.openBook(p.ctx)
	if err != nil {
		return err
	}
	all, err := record.Entries(p.ctx, b)
	if err == nil {
		err = do(b, all)
	}
	return errors.Join(err, end())
}

// add appends an entry that was made without an error, and says so.
func (p *program) add(b record.Book, e record.Entry, err error) error {
	if err != nil {
		return err
	}
	s, err := b.Append(p.ctx, e)
	if err != nil {
		return err
	}
	fmt.Fprintf(p.stdout, "Entry %d is kept: %s\n", s.Number, entryText(&s.Entry))
	if s.Expired() {
		fmt.Fprintf(p.stderr, "crownassay: this %s expired on %s\n", s.Lot.Thing, s.Lot.Expires)
	}
	return nil
}

type recordList struct {
	bookFlags
}

// Run lists the entries, one a line.
func (c *recordList) Run(p *program) error {
	return c.with(p, func(_ record.Book, all []record.Sealed) error {
		if len(all) == 0 {
			fmt.Fprintln(p.stdout, "The record has no entry yet.")
		}
		corrected := record.Stand(all).Corrected
		for i := range all {
			e := &all[i]
			mark := ""
			if by := corrected[e.Number]; by != 0 {
				mark = fmt.Sprintf(" [does not hold: entry %d]", by)
			}
			fmt.Fprintf(p.stdout, "%4d  %s  %-4s  %s%s\n", e.Number, e.At.Format("2006-01-02 15:04"), e.Who, entryText(&e.Entry), mark)
		}
		return nil
	})
}

// entryText says in a line what an entry tells.
func entryText(e *record.Entry) string {
	switch e.Kind {
	case record.KindRun:
		return fmt.Sprintf("run: tooth %s, %s, %s, document %s", e.Run.Tooth, e.Run.Material, count(len(e.Run.Surfaces), "surface", "surfaces"), e.Run.Document[:12])
	case record.KindConfirmation:
		c := e.Confirmation
		s := fmt.Sprintf("confirmed: %s, looking at entry %d (%d fail, %d undecided, %d unmeasured, %d overridden)", c.HoldPoint, c.Run, c.Fails, c.Undecided, c.Unmeasured, c.Overridden)
		return s + remark(c.Remark)
	case record.KindLot:
		return lotText(e.Lot)
	case record.KindOverride:
		o := e.Override
		return fmt.Sprintf("overridden: %s of entry %d %s instead of %s: %s", o.Reading, o.Run, o.To, o.From, o.Reason)
	case record.KindLuting:
		return e.Luting.Text()
	case record.KindTryIn:
		return e.TryIn.Text()
	case record.KindRecall:
		return e.Recall.Text()
	}
	return fmt.Sprintf("correction: entry %d does not hold: %s", e.Correction.Entry, e.Correction.Reason)
}

func remark(s string) string {
	if s == "" {
		return ""
	}
	return ": " + s
}

func lotText(l *record.LotEntry) string {
	s := "lot: " + l.Thing
	for _, part := range []struct{ name, value string }{{"lot", l.Lot}, {"serial", l.Serial}, {"product", l.Product}, {"expires", l.Expires}} {
		if part.value != "" {
			s += ", " + part.name + " " + part.value
		}
	}
	return s
}

type recordShow struct {
	bookFlags
	Entry int64 `arg:"" optional:"" help:"Number of an entry; without it, what the record comes to."`
	JSON  bool  `name:"json" help:"Print the entry's own bytes."`
}

// Run shows one entry or the whole standing.
func (c *recordShow) Run(p *program) error {
	return c.with(p, func(_ record.Book, all []record.Sealed) error {
		if c.Entry == 0 {
			return c.standing(p, all)
		}
		if c.Entry < 1 || c.Entry > int64(len(all)) {
			return fmt.Errorf("show entry %d: the record has %d entries", c.Entry, len(all))
		}
		e := all[c.Entry-1]
		if c.JSON {
			_, err := fmt.Fprintf(p.stdout, "%s\n", e.Bytes)
			return err
		}
		_, err := fmt.Fprintf(p.stdout, "entry     %d\nat        %s\nwho       %s\ntells     %s\nhash      %s\nprevious  %s\n",
			e.Number, e.At.Format(time.RFC3339), e.Who, entryText(&e.Entry), e.Hash, e.Previous)
		return err
	})
}

// standing prints what holds.
func (c *recordShow) standing(p *program, all []record.Sealed) error {
	if c.JSON {
		return errors.New("show the record as JSON: give the number of an entry")
	}
	s := record.Stand(all)
	if s.Run == nil {
		fmt.Fprintln(p.stdout, "No run is kept.")
	} else {
		fmt.Fprintf(p.stdout, "Entry %d, %s, %s\n", s.Run.Number, s.Run.At.Format("2006-01-02 15:04"), entryText(&s.Run.Entry))
	}
	for _, h := range []reading.HoldPoint{reading.Preparation, reading.Design, reading.TryIn, reading.Recall} {
		if e := s.Confirmations[h]; e != nil {
			late := ""
			if s.Run != nil && e.Confirmation.Run != s.Run.Number {
				late = fmt.Sprintf(" (measured again since: entry %d)", s.Run.Number)
			}
			fmt.Fprintf(p.stdout, "%s, %s: %s%s\n", e.At.Format("2006-01-02 15:04"), e.Who, entryText(&e.Entry), late)
		}
	}
	for _, e := range s.Lots {
		fmt.Fprintf(p.stdout, "%s, %s: %s\n", e.At.Format("2006-01-02 15:04"), e.Who, entryText(&e.Entry))
	}
	kept := slices.Concat(s.TryIns, s.Recalls)
	if s.Luting != nil {
		kept = append([]*record.Sealed{s.Luting}, kept...)
	}
	for _, e := range kept {
		fmt.Fprintf(p.stdout, "%s, %s: %s\n", e.At.Format("2006-01-02 15:04"), e.Who, entryText(&e.Entry))
	}
	for i := range all {
		if e := &all[i]; e.Kind == record.KindOverride && s.Overrides[e.Override.Reading] == e {
			fmt.Fprintf(p.stdout, "%s, %s: %s\n", e.At.Format("2006-01-02 15:04"), e.Who, entryText(&e.Entry))
		}
	}
	return nil
}

type recordVerify struct {
	benchFlags
	Case string `arg:"" optional:"" help:"Folder of a case, or the number of a case of the bench; without it all cases of the bench."`
	Head string `placeholder:"HASH" help:"The last entry's hash, or its beginning, as noted elsewhere, for example on a report: it must be among the entries, so that none was cut off."`
}

// Run verifies one record or all.
func (c *recordVerify) Run(p *program) error {
	if c.Case != "" {
		f := bookFlags{c.benchFlags, c.Case}
		b, end, err := f.openBook(p.ctx)
		if err != nil {
			return err
		}
		return errors.Join(c.one(p, b, "The record"), end())
	}
	if c.Head != "" {
		return errors.New("read --head: give the case it is of")
	}
	s, err := c.openStore(p.ctx)
	if err != nil {
		return err
	}
	return errors.Join(c.all(p, s), s.Close())
}

func (c *recordVerify) all(p *program, s *sqlite.Store) error {
	ks, err := s.Cases(p.ctx)
	if err != nil {
		return err
	}
	tell, end := newProgress(p.ctx, p.stderr)
	defer end()
	var wrong []error
	for i, k := range ks {
		if tell != nil {
			tell(fmt.Sprintf("case %d", k.ID), i, len(ks))
		}
		if err := c.one(p, s.Book(k.ID), fmt.Sprintf("Case %d", k.ID)); err != nil {
			wrong = append(wrong, fmt.Errorf("case %d: %w", k.ID, err))
		}
	}
	return errors.Join(wrong...)
}

func (c *recordVerify) one(p *program, b record.Book, name string) error {
	v, err := record.Verify(p.ctx, b)
	if err != nil {
		return err
	}
	if err := c.head(p.ctx, b); err != nil {
		return err
	}
	for _, n := range v.Notes {
		fmt.Fprintln(p.stderr, "crownassay: note:", n)
	}
	_, err = fmt.Fprintf(p.stdout, "%s is as it was kept: %s, %s, %s. Last entry: %s\n", name,
		count(v.Entries, "entry", "entries"), count(v.Runs, "run", "runs"), count(v.Surfaces, "file", "files"), v.Head)
	return err
}

func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// head looks for a hash that was noted elsewhere.
func (c *recordVerify) head(ctx context.Context, b record.Book) error {
	if c.Head == "" {
		return nil
	}
	if len(c.Head) < 8 {
		return fmt.Errorf("read --head %s: give at least 8 digits of the hash", c.Head)
	}
	all, err := record.Entries(ctx, b)
	if err != nil {
		return err
	}
	for _, e := range all {
		if strings.HasPrefix(e.Hash, strings.ToLower(c.Head)) {
			return nil
		}
	}
	return fmt.Errorf("find the entry with the hash %s: the record has none; entries were cut off, or the hash is of another case", c.Head)
}

// recordWho is who makes an entry.
type recordWho struct {
	Who string `env:"CROWNASSAY_WHO" required:"" placeholder:"INITIALS" help:"Who says so."`
}

type recordConfirm struct {
	bookFlags
	HoldPoint string `arg:"" help:"preparation, design, try-in or recall."`
	recordWho
	Remark string `placeholder:"TEXT" help:"What should be known."`
}

// Run confirms a hold point.
func (c *recordConfirm) Run(p *program) error {
	return c.newest(p, func(b record.Book, s *record.Standing, d *record.Document) error {
		e, err := s.Confirm(d, reading.HoldPoint(c.HoldPoint), c.Who, c.Remark)
		return p.add(b, e, err)
	})
}

// newest gives the standing and the document of the newest run.
func (f *bookFlags) newest(p *program, do func(record.Book, *record.Standing, *record.Document) error) error {
	return f.with(p, func(b record.Book, all []record.Sealed) error {
		s := record.Stand(all)
		if s.Run == nil {
			return errors.New("the record has no run yet: measure the case and keep the run, with \"crownassay assay CASE --keep\" or on the bench")
		}
		doc, _, err := b.Document(p.ctx, s.Run.Run)
		if err != nil {
			return err
		}
		d, err := record.ReadDocument(doc)
		if err != nil {
			return err
		}
		return do(b, &s, d)
	})
}

type recordLot struct {
	bookFlags
	Thing string `arg:"" help:"block, tool or cement."`
	Lot   string `arg:"" help:"The lot number, or what a scanner reads from the package: an element string of GS1, with or without brackets."`
	recordWho
}

// Run keeps a lot number.
func (c *recordLot) Run(p *program) error {
	return c.with(p, func(b record.Book, _ []record.Sealed) error {
		e, err := record.Lot(c.Thing, c.Lot, c.Who, time.Now())
		return p.add(b, e, err)
	})
}

type recordOverride struct {
	bookFlags
	Reading string `arg:"" help:"Id of a reading, as in the JSON document."`
	Verdict string `arg:"" enum:"conforms,fails" help:"conforms or fails."`
	Reason  string `required:"" placeholder:"TEXT" help:"Why the person judges otherwise."`
	recordWho
}

// Run keeps a person's own verdict.
func (c *recordOverride) Run(p *program) error {
	return c.newest(p, func(b record.Book, s *record.Standing, d *record.Document) error {
		e, err := s.Override(d, reading.ID(c.Reading), reading.Verdict(c.Verdict), c.Who, c.Reason)
		return p.add(b, e, err)
	})
}

type recordCorrect struct {
	bookFlags
	Entry  int64  `arg:"" help:"Number of the entry that does not hold."`
	Reason string `required:"" placeholder:"TEXT" help:"Why it does not, and what holds instead."`
	recordWho
}

// Run takes an entry back.
func (c *recordCorrect) Run(p *program) error {
	return c.with(p, func(b record.Book, all []record.Sealed) error {
		e, err := record.Correct(all, c.Entry, c.Who, c.Reason)
		return p.add(b, e, err)
	})
}
