package sqlite

import (
	"context"
	"fmt"
)

// Setting returns a setting of the bench.
func (s *Store) Setting(ctx context.Context, name string) (v string, err error) {
	err = s.db.QueryRowContext(ctx, `SELECT value FROM settings WHERE name = ?`, name).Scan(&v)
	return v, notFound(err, "setting", name)
}

// SetSetting keeps a setting of the bench.
func (s *Store) SetSetting(ctx context.Context, name, value string) error {
	_, err := s.db.ExecContext(ctx, `INSERT INTO settings (name, value) VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET value = excluded.value`, name, value)
	if err != nil {
		return fmt.Errorf("set %s: %w", name, err)
	}
	return nil
}
