package jobs

import (
	"context"

	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/riverqueue/river"
	"github.com/riverqueue/river/riverdriver/riverpgxv5"
)

// openPostgres opens a queue that several machines share.
func openPostgres(ctx context.Context, address string, c *river.Config) (client, func() error, error) {
	pool, err := pgxpool.New(ctx, address)
	if err != nil {
		return nil, nil, err
	}
	cl, err := prepared(ctx, riverpgxv5.New(pool), c)
	if err != nil {
		pool.Close()
		return nil, nil, err
	}
	return cl, func() error { pool.Close(); return nil }, nil
}
