package record

import (
	"context"
	"errors"
	"fmt"
	"io"
)

// Book is where the entries of one case's record are kept, in the store or in
// a folder.
type Book interface {
	// Case is the number that its entries carry.
	Case() int64
	// Raw returns what is kept of the entries, in order.
	Raw(ctx context.Context) ([]Raw, error)
	// Append seals an entry and keeps it. Format, Case, Number, Previous and At
	// are set by the book.
	Append(ctx context.Context, e Entry) (Sealed, error)
	// Document returns a run's document and the bytes it is kept in; what is not
	// there is ErrNotFound.
	Document(ctx context.Context, r *RunEntry) (document, stored []byte, err error)
	// Surface opens the file of a surface; what is not there is ErrNotFound.
	Surface(ctx context.Context, s KeptSurface) (io.ReadCloser, error)
	// Runs lists the numbers of the runs that are kept beside the entries.
	Runs(ctx context.Context) ([]int64, error)
}

// Entries opens all entries of a book and holds each to the one before.
func Entries(ctx context.Context, b Book) ([]Sealed, error) {
	raw, err := b.Raw(ctx)
	if err != nil {
		return nil, err
	}
	out := make([]Sealed, 0, len(raw))
	previous := Beginning
	for i, r := range raw {
		s, err := r.Open()
		switch n := int64(i + 1); {
		case err != nil:
			return out, &Fault{n, err.Error()}
		case r.Number != n || s.Number != n:
			return out, &Fault{n, fmt.Sprintf("in its place stands entry %d, kept as %d: an entry is missing or was moved", s.Number, r.Number)}
		case s.Case != b.Case():
			return out, &Fault{n, fmt.Sprintf("it is of case %d, not of %d", s.Case, b.Case())}
		case s.Previous != previous:
			return out, &Fault{n, fmt.Sprintf("it follows an entry with the hash %s, but the one before has %s", short12(s.Previous), short12(previous))}
		}
		if err := refers(out, &s.Entry); err != nil {
			return out, &Fault{int64(i + 1), err.Error()}
		}
		out, previous = append(out, s), s.Hash
	}
	return out, nil
}

// refers checks that what an entry names is an entry of the right kind before
// it.
func refers(before []Sealed, e *Entry) error {
	run := int64(0)
	switch e.Kind {
	case KindConfirmation:
		run = e.Confirmation.Run
	case KindOverride:
		run = e.Override.Run
	case KindLuting:
		if run = e.Luting.Run; run == 0 {
			return nil // chosen without looking at a run
		}
	default:
		return nil // a correction may name any entry before it, which its own check holds
	}
	if run < 1 || run > int64(len(before)) || before[run-1].Kind != KindRun {
		return fmt.Errorf("it speaks of entry %d as a run, which it is not", run)
	}
	return nil
}

// Fault is the first entry that is not right.
type Fault struct {
	Number int64
	What   string
}

func (f *Fault) Error() string {
	return fmt.Sprintf("entry %d of the record is not right: %s", f.Number, f.What)
}

// Verified is what a check of the record found.
type Verified struct {
	Entries  int
	Runs     int
	Surfaces int      // files whose content was read and is as recorded
	Head     string   // hash of the last entry; Beginning when there is none
	Notes    []string // what is not wrong but should be known
}

// Verify reads the whole record: every entry, the document of every run and
// the files of its surfaces. The error names the first entry that is not right
// ([Fault]). What it cannot see is that the newest entries were cut off; for
// that, compare Head with one noted elsewhere, as on a report.
func Verify(ctx context.Context, b Book) (Verified, error) {
	v := Verified{Head: Beginning}
	all, err := Entries(ctx, b)
	if err != nil {
		return v, err
	}
	told, read := map[int64]bool{}, map[string]error{}
	for _, e := range all {
		if err := ctx.Err(); err != nil {
			return v, err
		}
		v.Entries, v.Head = v.Entries+1, e.Hash
		if e.Kind != KindRun {
			continue
		}
		if told[e.Run.Number] && e.Run.Number != 0 {
			return v, &Fault{e.Number, fmt.Sprintf("run %d has an entry already", e.Run.Number)}
		}
		told[e.Run.Number], v.Runs = true, v.Runs+1
		if err := verifyRun(ctx, b, &v, e.Run, read); err != nil {
			return v, &Fault{e.Number, err.Error()}
		}
	}
	return v, unlisted(ctx, b, told)
}

// verifyRun holds a run's document and surfaces to their hashes. Files that
// were read are remembered, since runs share them.
func verifyRun(ctx context.Context, b Book, v *Verified, r *RunEntry, read map[string]error) error {
	doc, stored, err := b.Document(ctx, r)
	if err != nil {
		return fmt.Errorf("its document cannot be read: %w", err)
	}
	if Hash(stored) != r.Stored || Hash(doc) != r.Document {
		return errors.New("its document was changed after it was kept")
	}
	for _, s := range r.Surfaces {
		key := s.File + " " + s.SHA256
		err, known := read[key]
		if !known {
			err = verifySurface(ctx, b, s)
			read[key] = err
		}
		var changed *changedFile
		switch {
		case err == nil && !known:
			v.Surfaces++
		case errors.As(err, &changed) && b.Case() == 0:
			if !known { // a folder's files are its owner's: a new scan may replace one
				v.Notes = append(v.Notes, fmt.Sprintf("%s is not the file that was measured any more", s.File))
			}
		case err != nil:
			return err
		}
	}
	return nil
}

// changedFile says that a file has another content than the one measured.
type changedFile struct{ what string }

func (c *changedFile) Error() string { return c.what }

func verifySurface(ctx context.Context, b Book, s KeptSurface) error {
	f, err := b.Surface(ctx, s)
	if errors.Is(err, ErrNotFound) {
		return &changedFile{fmt.Sprintf("the file of its %s surface (%s) is missing", s.Role, s.File)}
	}
	if err != nil {
		return err
	}
	defer f.Close()
	sum, err := HashReader(f)
	if err != nil {
		return fmt.Errorf("read %s: %w", s.File, err)
	}
	if sum != s.SHA256 {
		return &changedFile{fmt.Sprintf("the file of its %s surface (%s) was changed", s.Role, s.File)}
	}
	return nil
}

// unlisted looks for runs that no entry tells of.
func unlisted(ctx context.Context, b Book, told map[int64]bool) error {
	runs, err := b.Runs(ctx)
	if err != nil {
		return err
	}
	for _, n := range runs {
		if !told[n] {
			return fmt.Errorf("run %d is kept, but no entry of the record tells of it: its entry was taken out", n)
		}
	}
	return nil
}
