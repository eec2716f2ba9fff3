package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path"
	"path/filepath"
	"slices"

	"crownassay/internal/ctxio"
	"crownassay/record"
)

// Copied is a file of a snapshot: its name within the store's folder and where
// it lies now.
type Copied struct{ Name, Path string }

// Snapshot copies the database as it is at one moment into dir, while others
// read and write the store, and lists it with every mesh file that it names.
// Mesh files are never changed and are there before a row names them, so they
// need no copy.
func (s *Store) Snapshot(ctx context.Context, dir string) ([]Copied, error) {
	at := filepath.Join(dir, databaseFile)
	if _, err := s.db.ExecContext(ctx, `VACUUM INTO ?`, at); err != nil {
		return nil, fmt.Errorf("copy the database: %w", err)
	}
	// read as it stands, so that nothing is written beside it
	db, err := sql.Open("sqlite", (&url.URL{Scheme: "file", Opaque: filepath.ToSlash(at), RawQuery: "mode=ro&immutable=1"}).String())
	if err != nil {
		return nil, err
	}
	defer db.Close()
	sums, err := rows(ctx, db, "meshes", func(r scanner) (sum string, err error) { return sum, r.Scan(&sum) },
		`SELECT DISTINCT sha256 FROM takes ORDER BY sha256`)
	if err != nil {
		return nil, err
	}
	out := []Copied{{databaseFile, at}}
	for _, sum := range sums {
		at, err := s.MeshPath(ctx, sum)
		if err != nil {
			return nil, err
		}
		out = append(out, Copied{path.Join(meshFolder, sum), at})
	}
	return out, db.Close()
}

// Checked is what Check found.
type Checked struct {
	Cases, Takes, Runs, Entries int
}

// Check reads the whole store: the database itself, that whatever a row names
// is there, the content of every mesh file, and the record of every case. The
// error names what is not right.
func (s *Store) Check(ctx context.Context, tell func(step string, done, total int)) (c Checked, err error) {
	if err := s.sound(ctx); err != nil {
		return c, err
	}
	cases, err := s.Cases(ctx)
	if err != nil {
		return c, err
	}
	for i, k := range cases {
		if err := s.checkCase(ctx, &c, k.ID); err != nil {
			return c, fmt.Errorf("case %d: %w", k.ID, err)
		}
		if tell != nil {
			tell("checking", i+1, len(cases))
		}
	}
	return c, nil
}

// sound asks the database to check itself.
func (s *Store) sound(ctx context.Context) error {
	var said string
	if err := s.db.QueryRowContext(ctx, `PRAGMA integrity_check(1)`).Scan(&said); err != nil || said != "ok" {
		return errors.Join(fmt.Errorf("the database is damaged: %s", said), err)
	}
	var n int
	if err := s.db.QueryRowContext(ctx, `SELECT count(*) FROM pragma_foreign_key_check`).Scan(&n); err != nil || n > 0 {
		return errors.Join(fmt.Errorf("%d rows of the database name one that is not there", n), err)
	}
	return nil
}

func (s *Store) checkCase(ctx context.Context, c *Checked, id int64) error {
	c.Cases++
	takes, err := s.Takes(ctx, id)
	if err != nil {
		return err
	}
	for _, t := range takes {
		c.Takes++
		if err := s.checkMesh(ctx, t); err != nil {
			return fmt.Errorf("take %d (%s): %w", t.ID, t.File, err)
		}
	}
	runs, err := s.Runs(ctx, id, -1) // -1: all
	if err != nil {
		return err
	}
	for _, r := range runs {
		c.Runs++
		for _, n := range r.Takes {
			if !slices.ContainsFunc(takes, func(t record.Take) bool { return t.ID == n }) {
				return fmt.Errorf("run %d was made from take %d, which is not there", r.ID, n)
			}
		}
	}
	v, err := record.Verify(ctx, s.Book(id))
	c.Entries += v.Entries
	return err
}

// checkMesh holds a mesh file to its hash and length.
func (s *Store) checkMesh(ctx context.Context, t record.Take) error {
	at, err := s.MeshPath(ctx, t.SHA256)
	if err != nil {
		return err
	}
	f, err := os.Open(at)
	if err != nil {
		return err
	}
	defer f.Close()
	sum, err := record.HashReader(ctxio.Reader(ctx, f))
	if err != nil {
		return err
	}
	info, err := f.Stat()
	if err != nil {
		return err
	}
	if sum != t.SHA256 || info.Size() != t.Bytes {
		return errors.New("its file was changed")
	}
	return nil
}
