package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"crownassay/assay"
	"crownassay/audit"
	"crownassay/desk"
	"crownassay/parcel"
	"crownassay/record"
	"crownassay/sqlite"
)

// archive is many cases in one place.
type archive struct {
	cases []archived
	close func() error
}

// archived is a case of an archive; pack reads what it is measured from.
type archived struct {
	name string
	pack func(context.Context) (*parcel.Packed, audit.About, error)
}

// openArchive finds the cases below a folder, or of the bench whose folder it
// is. Scanner says what is known of the scanner where a case folder does not.
// What lies in the folder without is passed over.
func openArchive(ctx context.Context, dir, without string, scanner func(*assay.Case)) (*archive, error) {
	if sqlite.Is(dir) {
		return storeArchive(ctx, dir)
	}
	a := &archive{close: func() error { return nil }}
	skip, err := filepath.Abs(without)
	if err != nil {
		return nil, err
	}
	err = filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			if abs, err := filepath.Abs(path); err == nil && abs == skip {
				return filepath.SkipDir
			}
			return ctx.Err()
		}
		if d.Name() == assay.CaseFile {
			name, err := filepath.Rel(dir, filepath.Dir(path))
			if err != nil {
				return err
			}
			a.cases = append(a.cases, folderCase(filepath.ToSlash(name), path, scanner))
		}
		return nil
	})
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("look for cases in %s: no such folder; give one that holds case folders, or a bench's", dir)
	}
	if err == nil && len(a.cases) == 0 {
		err = fmt.Errorf("look for cases in %s: neither it nor a folder below holds a %s, and it is no bench's folder", dir, assay.CaseFile)
	}
	return a, err
}

// folderCase is a case folder; what its description does not say of dentist and
// day is taken from its record.
func folderCase(name, path string, scanner func(*assay.Case)) archived {
	return archived{name, func(ctx context.Context) (*parcel.Packed, audit.About, error) {
		p, err := parcel.OfFolder(ctx, path, scanner)
		if err != nil {
			return nil, audit.About{}, err
		}
		dir := filepath.Dir(path)
		about := audit.About{Dentist: p.Case.Dentist, Date: p.Case.Date}
		if _, err := os.Stat(filepath.Join(dir, record.BookFolder)); err != nil {
			return p, about, nil
		}
		all, err := record.Entries(ctx, record.OpenFolder(dir, nil))
		if err != nil {
			return nil, about, fmt.Errorf("its record is not right: %w", err)
		}
		return p, about.Or(audit.AboutOf(all)), nil
	}}
}

// storeArchive are the cases of a bench that have scans, in the order of their
// numbers; crowns taken from a table have none.
func storeArchive(ctx context.Context, dir string) (*archive, error) {
	s, err := sqlite.Open(ctx, dir, nil)
	if err != nil {
		return nil, err
	}
	scanner, err := desk.Scanner(ctx, s)
	if err != nil {
		return nil, errors.Join(err, s.Close())
	}
	all, err := s.Cases(ctx)
	if err != nil {
		return nil, errors.Join(err, s.Close())
	}
	slices.SortFunc(all, func(a, b record.Kept) int { return cmp.Compare(a.ID, b.ID) })
	a := &archive{close: s.Close}
	for _, k := range all {
		takes, err := s.Takes(ctx, k.ID)
		if err != nil {
			return nil, errors.Join(err, s.Close())
		}
		if len(takes) == 0 {
			continue
		}
		a.cases = append(a.cases, archived{fmt.Sprintf("case %d", k.ID), func(ctx context.Context) (*parcel.Packed, audit.About, error) {
			p, err := parcel.OfStore(ctx, s, k.ID, scanner)
			if err != nil {
				return nil, audit.About{}, err
			}
			entries, err := record.Entries(ctx, s.Book(k.ID))
			if err != nil {
				return nil, audit.About{}, fmt.Errorf("its record is not right: %w", err)
			}
			return p, audit.AboutOf(entries), nil
		}})
	}
	return a, nil
}

// items are the cases as the audit takes them.
func (a *archive) items() []audit.Item {
	out := make([]audit.Item, len(a.cases))
	for i, c := range a.cases {
		out[i] = audit.Item{Name: c.name, Open: func(ctx context.Context) (*audit.Opened, error) {
			p, about, err := c.pack(ctx)
			if err != nil {
				return nil, err
			}
			key, err := p.Key()
			return &audit.Opened{About: about, Key: key, Measure: p.Measure}, err
		}}
	}
	return out
}
