package jobs

import (
	"context"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/riverqueue/river"
	"github.com/riverqueue/river/riverdriver/riverpgxv5"
)

// openPostgres opens a queue that several machines share.
func openPostgres(ctx context.Context, address string, c *river.Config) (client, func() error, error) {
	pool, cl, err := pooled(ctx, address, c)
	if err != nil {
		return nil, nil, err
	}
	return cl, func() error { pool.Close(); return nil }, nil
}

// pooled opens a database with the queue's tables and makes its client.
func pooled(ctx context.Context, address string, c *river.Config) (*pgxpool.Pool, *river.Client[pgx.Tx], error) {
	pool, err := pgxpool.New(ctx, address)
	if err != nil {
		return nil, nil, err
	}
	cl, err := migrated(ctx, pool, c)
	if err != nil {
		pool.Close()
		return nil, nil, err
	}
	return pool, cl, nil
}

// migrated brings the tables up to date, one program at a time.
func migrated(ctx context.Context, pool *pgxpool.Pool, c *river.Config) (*river.Client[pgx.Tx], error) {
	one, err := pool.Acquire(ctx)
	if err != nil {
		return nil, err
	}
	defer one.Release()
	if _, err := one.Exec(ctx, `SELECT pg_advisory_lock(hashtextextended('crownassay-migration', 0))`); err != nil {
		return nil, err
	}
	defer one.Exec(context.WithoutCancel(ctx), `SELECT pg_advisory_unlock(hashtextextended('crownassay-migration', 0))`)
	return prepared(ctx, riverpgxv5.New(pool), c)
}
