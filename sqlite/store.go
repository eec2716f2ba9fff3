package sqlite

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"time"

	"github.com/pressly/goose/v3"
	_ "modernc.org/sqlite" // the driver

	"crownassay/internal/migrate"
	"crownassay/record"
)

//go:embed migrations/*.sql
var migrations embed.FS

// The names within the store's folder.
const (
	databaseFile = "bench.db"
	meshFolder   = "meshes"
	tempFolder   = "incoming"
	asideFolder  = "aside" // what can be made again
	tempPrefix   = "new-"
)

// Store is a record.Store in a folder.
type Store struct {
	dir string
	db  *sql.DB
	now func() time.Time
}

var _ record.Store = (*Store)(nil)

// Is reports whether a store is in dir.
func Is(dir string) bool {
	_, err := os.Stat(filepath.Join(dir, databaseFile))
	return err == nil
}

// Open opens the store in dir, which is made where it is not there, and brings
// its tables up to date. Now is the clock; nil for the machine's.
func Open(ctx context.Context, dir string, now func() time.Time) (*Store, error) {
	if now == nil {
		now = time.Now
	}
	for _, d := range []string{meshFolder, tempFolder, asideFolder} {
		if err := os.MkdirAll(filepath.Join(dir, d), 0o700); err != nil {
			return nil, fmt.Errorf("make the store's folder: %w; choose a folder that can be written", err)
		}
	}
	db, err := sql.Open("sqlite", DSN(filepath.Join(dir, databaseFile)))
	if err != nil {
		return nil, fmt.Errorf("open store %s: %w", dir, err)
	}
	s := &Store{dir, db, now}
	if err := s.prepare(ctx); err != nil {
		return nil, errors.Join(fmt.Errorf("open store %s: %w", dir, err), db.Close())
	}
	return s, nil
}

// DSN is how a database file is opened. What a connection must keep to stands
// here, since a PRAGMA would reach one connection of the pool only.
func DSN(path string) string {
	q := url.Values{"_txlock": {"immediate"}, "_pragma": {
		"busy_timeout(10000)", "journal_mode(WAL)", "synchronous(FULL)", "foreign_keys(1)"}}
	return (&url.URL{Scheme: "file", Opaque: filepath.ToSlash(path), RawQuery: q.Encode()}).String()
}

// prepare applies what is new of the migrations and clears away what uploads
// that were cut off have left.
func (s *Store) prepare(ctx context.Context) error {
	sub, err := fs.Sub(migrations, "migrations")
	if err != nil {
		return err
	}
	entries := goose.NewGoMigration(3, &goose.GoFunc{RunTx: enter}, nil)
	p, err := goose.NewProvider(goose.DialectSQLite3, s.db, sub, goose.WithGoMigrations(entries))
	if err != nil {
		return err
	}
	if err := migrate.Up(ctx, p); err != nil {
		return err
	}
	return s.clear(ctx)
}

// Close closes the database.
func (s *Store) Close() error { return s.db.Close() }

// stamp is a time as it is kept.
func (s *Store) stamp() int64 { return s.now().UnixMicro() }

func moment(us int64) time.Time { return time.UnixMicro(us).UTC() }

// notFound turns the absence of a row into the store's error.
func notFound(err error, what string, id any) error {
	if errors.Is(err, sql.ErrNoRows) {
		return fmt.Errorf("find %s %v: %w", what, id, record.ErrNotFound)
	}
	if err != nil {
		return fmt.Errorf("read %s %v: %w", what, id, err)
	}
	return nil
}

// rows collects what a query returns.
func rows[T any](ctx context.Context, db *sql.DB, what string, scan func(scanner) (T, error), query string, args ...any) ([]T, error) {
	r, err := db.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, fmt.Errorf("list %s: %w", what, err)
	}
	defer r.Close()
	var out []T
	for r.Next() {
		x, err := scan(r)
		if err != nil {
			return nil, fmt.Errorf("list %s: %w", what, err)
		}
		out = append(out, x)
	}
	if err := r.Err(); err != nil {
		return nil, fmt.Errorf("list %s: %w", what, err)
	}
	return out, nil
}

// scanner is a row.
type scanner interface{ Scan(...any) error }
