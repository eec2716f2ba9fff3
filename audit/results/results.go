// Package results keeps what measuring the cases of an audit gave: in a SQLite
// file beside the audit, or in a PostgreSQL database that the workers on several
// machines share. The statements are the same.
package results

import (
	"bytes"
	"compress/gzip"
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/url"
	"path/filepath"

	_ "github.com/jackc/pgx/v5/stdlib" // the driver pgx
	"github.com/pressly/goose/v3"
	"github.com/pressly/goose/v3/lock"
	_ "modernc.org/sqlite" // the driver sqlite

	"crownassay/audit"
	"crownassay/internal/migrate"
)

//go:embed migrations/*.sql
var migrations embed.FS

// versions is the table of migrations; others may use the same database.
const versions = "audit_versions"

// Results is an [audit.Journal].
type Results struct{ db *sql.DB }

var _ audit.Journal = (*Results)(nil)

// Open opens results in a file, which is made where it is not there.
func Open(ctx context.Context, file string) (*Results, error) {
	q := url.Values{"_txlock": {"immediate"}, "_pragma": {"busy_timeout(10000)", "journal_mode(WAL)", "synchronous(FULL)"}}
	db, err := sql.Open("sqlite", (&url.URL{Scheme: "file", Opaque: filepath.ToSlash(file), RawQuery: q.Encode()}).String())
	if err != nil {
		return nil, fmt.Errorf("open results %s: %w", file, err)
	}
	db.SetMaxOpenConns(1) // one writes; more would only wait for one another
	r, err := prepared(ctx, db, goose.DialectSQLite3)
	if err != nil {
		return nil, fmt.Errorf("open results %s: %w; is it a file of another program, or of a newer version?", file, err)
	}
	return r, nil
}

// OpenPostgres opens results in a database. Its address, which may hold a
// password, is in no error.
func OpenPostgres(ctx context.Context, address string) (*Results, error) {
	db, err := sql.Open("pgx", address)
	if err != nil {
		return nil, errors.New("open the database of results: its address cannot be read; write it as postgres://USER@HOST/DATABASE")
	}
	one, err := lock.NewPostgresSessionLocker()
	if err != nil {
		return nil, errors.Join(err, db.Close())
	}
	r, err := prepared(ctx, db, goose.DialectPostgres, goose.WithSessionLocker(one))
	if err != nil {
		return nil, fmt.Errorf("open the database of results: %w", err)
	}
	return r, nil
}

// prepared applies what is new of the migrations.
func prepared(ctx context.Context, db *sql.DB, d goose.Dialect, opts ...goose.ProviderOption) (*Results, error) {
	err := func() error {
		sub, err := fs.Sub(migrations, "migrations")
		if err != nil {
			return err
		}
		p, err := goose.NewProvider(d, db, sub, append(opts, goose.WithTableName(versions))...)
		if err != nil {
			return err
		}
		return migrate.Up(ctx, p)
	}()
	if err != nil {
		return nil, errors.Join(err, db.Close())
	}
	return &Results{db}, nil
}

// Close closes the database.
func (r *Results) Close() error { return r.db.Close() }

// Get returns the result of a case.
func (r *Results) Get(ctx context.Context, key string) (out audit.Result, ok bool, err error) {
	var packed []byte
	err = r.db.QueryRowContext(ctx, `SELECT kind, document, problem FROM audit_results WHERE key = $1`, key).Scan(&out.Kind, &packed, &out.Problem)
	if errors.Is(err, sql.ErrNoRows) {
		return out, false, nil
	}
	if err == nil && packed != nil {
		out.Document, err = unpack(packed)
	}
	if err != nil {
		return out, false, fmt.Errorf("read a result: %w", err)
	}
	return out, true, nil
}

// Put keeps the result of a case, unless one that lasts is there already.
func (r *Results) Put(ctx context.Context, key, name string, x audit.Result) error {
	var packed []byte
	if x.Document != nil {
		packed = pack(x.Document)
	}
	_, err := r.db.ExecContext(ctx, `INSERT INTO audit_results (key, name, kind, document, problem) VALUES ($1, $2, $3, $4, $5)
		ON CONFLICT (key) DO UPDATE SET name = excluded.name, kind = excluded.kind, document = excluded.document, problem = excluded.problem
		WHERE audit_results.kind NOT IN ('measured', 'refused')`, key, name, string(x.Kind), packed, x.Problem)
	if err != nil {
		return fmt.Errorf("keep the result of %s: %w", name, err)
	}
	return nil
}

// Forget drops the results of keys, so that the cases are measured again.
func (r *Results) Forget(ctx context.Context, keys []string) error {
	for _, k := range keys {
		if _, err := r.db.ExecContext(ctx, `DELETE FROM audit_results WHERE key = $1`, k); err != nil {
			return fmt.Errorf("forget results: %w", err)
		}
	}
	return nil
}

func pack(b []byte) []byte {
	var out bytes.Buffer
	z := gzip.NewWriter(&out)
	_, _ = z.Write(b) // a buffer takes all
	_ = z.Close()
	return out.Bytes()
}

func unpack(b []byte) ([]byte, error) {
	z, err := gzip.NewReader(bytes.NewReader(b))
	if err != nil {
		return nil, err
	}
	return io.ReadAll(z)
}
