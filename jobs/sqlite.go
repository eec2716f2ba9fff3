package jobs

import (
	"context"
	"database/sql"
	"errors"
	"net/url"
	"path/filepath"

	"github.com/riverqueue/river"
	"github.com/riverqueue/river/riverdriver"
	"github.com/riverqueue/river/riverdriver/riversqlite"
	"github.com/riverqueue/river/rivermigrate"
	_ "modernc.org/sqlite" // the driver
)

// openSQLite opens the queue's own file. One connection writes; more would
// only wait for one another.
func openSQLite(ctx context.Context, file string, c *river.Config) (client, func() error, error) {
	q := url.Values{"_txlock": {"immediate"}, "_pragma": {"busy_timeout(10000)", "journal_mode(WAL)", "synchronous(FULL)", "foreign_keys(1)"}}
	db, err := sql.Open("sqlite", (&url.URL{Scheme: "file", Opaque: filepath.ToSlash(file), RawQuery: q.Encode()}).String())
	if err != nil {
		return nil, nil, err
	}
	db.SetMaxOpenConns(1)
	cl, err := prepared(ctx, riversqlite.New(db), c)
	if err == nil {
		err = release(ctx, db)
	}
	if err != nil {
		return nil, nil, errors.Join(err, db.Close())
	}
	return cl, db.Close, nil
}

// prepared brings the queue's tables up to date and makes its client.
func prepared[TTx any](ctx context.Context, d riverdriver.Driver[TTx], c *river.Config) (*river.Client[TTx], error) {
	m, err := rivermigrate.New(d, &rivermigrate.Config{Logger: c.Logger})
	if err != nil {
		return nil, err
	}
	if _, err := m.Migrate(ctx, rivermigrate.DirectionUp, nil); err != nil {
		return nil, err
	}
	return river.NewClient(d, c)
}

// release gives back the jobs of a program that was killed: the file is this
// program's alone, so none of them is running. One that was begun as often as
// it may be is given up, since it may be what ends the program.
func release(ctx context.Context, db *sql.DB) error {
	if _, err := db.ExecContext(ctx, `UPDATE river_job SET state = 'discarded', finalized_at = CURRENT_TIMESTAMP WHERE state = 'running' AND attempt >= max_attempts`); err != nil {
		return err
	}
	_, err := db.ExecContext(ctx, `UPDATE river_job SET state = 'available' WHERE state = 'running'`)
	return err
}
