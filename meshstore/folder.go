package meshstore

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// folder is a store in a folder that several machines may share.
type folder string

func (d folder) path(sha string) string {
	return filepath.Join(string(d), filepath.FromSlash(name(sha)))
}

// Put keeps a file by writing beside its place, syncing and renaming.
func (d folder) Put(ctx context.Context, sha, from string) error {
	if err := checked(sha); err != nil {
		return err
	}
	to := d.path(sha)
	if _, err := os.Stat(to); err == nil {
		return nil
	}
	if err := os.MkdirAll(filepath.Dir(to), 0o755); err != nil {
		return fmt.Errorf("keep %s: %w", from, err)
	}
	f, err := os.Open(from)
	if err != nil {
		return fmt.Errorf("keep %s: %w", from, err)
	}
	defer f.Close()
	if err := copied(ctx, f, sha, to); err != nil {
		return fmt.Errorf("keep %s: %w", from, err)
	}
	return nil
}

// Get copies a file out of the folder.
func (d folder) Get(ctx context.Context, sha, to string) error {
	if err := checked(sha); err != nil {
		return err
	}
	f, err := os.Open(d.path(sha))
	if errors.Is(err, fs.ErrNotExist) {
		err = ErrNotFound
	}
	if err != nil {
		return fmt.Errorf("get mesh %s: %w", sha[:12], err)
	}
	defer f.Close()
	if err := copied(ctx, f, sha, to); err != nil {
		return fmt.Errorf("get mesh %s: %w", sha[:12], err)
	}
	return nil
}
