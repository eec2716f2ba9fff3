package practice

import (
	"context"
	"errors"
	"fmt"

	"crownassay/record"
)

// Keeper keeps cases and their records.
type Keeper interface {
	Source
	AddCase(ctx context.Context, k record.Kept) (record.Kept, error)
}

// Imported is what was taken from a table.
type Imported struct {
	Cases   int // made anew
	Entries int // kept
	Known   int // lines that were there already
}

// Import keeps the lines of a table as entries of their cases' records. A case
// is that of the same patient code and tooth; where there is none it is made.
// A line whose event is there already, of the same day, is left as it is, so
// that a table can be read again after it has grown. Tell may be nil.
func Import(ctx context.Context, s Keeper, rows []Row, who string, tell func(done, total int)) (Imported, error) {
	var did Imported
	cases, err := s.Cases(ctx)
	if err != nil {
		return did, err
	}
	had := map[[3]string]record.Kept{}
	for _, k := range cases {
		if k.Patient != "" {
			had[[3]string{k.Patient, k.Numbering, k.Tooth}] = k
		}
	}
	for i, r := range rows {
		if err := ctx.Err(); err != nil {
			return did, err
		}
		key := [3]string{r.Patient, r.Numbering, r.Tooth}
		k, ok := had[key]
		if !ok {
			if r.Material == "" {
				return did, fmt.Errorf("line %d: tooth %s of patient %s is not on the bench, and the line names no material", r.Line, r.Tooth, r.Patient)
			}
			if k, err = s.AddCase(ctx, record.Kept{Tooth: r.Tooth, Numbering: r.Numbering, Material: r.Material, Unit: "mm", Patient: r.Patient}); err != nil {
				return did, fmt.Errorf("line %d: %w", r.Line, err)
			}
			had[key], did.Cases = k, did.Cases+1
		}
		if err := r.keep(ctx, s.Book(k.ID), who, &did); err != nil {
			return did, fmt.Errorf("line %d: %w", r.Line, err)
		}
		if tell != nil {
			tell(i+1, len(rows))
		}
	}
	return did, nil
}

// keep adds what a line says to a record.
func (r *Row) keep(ctx context.Context, b record.Book, who string, did *Imported) error {
	all, err := record.Entries(ctx, b)
	if err != nil {
		return err
	}
	stand := record.Stand(all)
	if r.known(&stand) {
		did.Known++
		return nil
	}
	add := func(e record.Entry) {
		if err != nil {
			return
		}
		e.Who = who
		if _, err = b.Append(ctx, e); err == nil {
			did.Entries++
		}
	}
	if r.Recall != nil {
		if len(stand.TryIns) == 0 {
			return errors.New("a recall of a crown whose try-in is not on record; put the try-in before it")
		}
		add(record.Entry{Kind: record.KindRecall, Recall: r.Recall})
		return err
	}
	for _, l := range []struct{ thing, lot string }{{"block", r.Block}, {"tool", r.Tool}, {"cement", r.Cement}} {
		if l.lot != "" {
			add(record.Entry{Kind: record.KindLot, Lot: &record.LotEntry{Thing: l.thing, Lot: l.lot}})
		}
	}
	add(record.Entry{Kind: record.KindTryIn, TryIn: r.TryIn})
	if r.Luting != "" && !r.TryIn.Remade {
		add(record.Entry{Kind: record.KindLuting, Luting: &record.LutingEntry{Date: r.TryIn.Date, Family: r.Luting}})
	}
	return err
}

// known reports whether the event of the line is on record.
func (r *Row) known(s *record.Standing) bool {
	for _, e := range s.TryIns {
		if r.TryIn != nil && e.TryIn.Date == r.TryIn.Date {
			return true
		}
	}
	for _, e := range s.Recalls {
		if r.Recall != nil && e.Recall.Date == r.Recall.Date {
			return true
		}
	}
	return false
}
