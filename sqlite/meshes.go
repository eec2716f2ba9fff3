package sqlite

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"crownassay/internal/ctxio"
	"crownassay/record"
)

// PutMesh writes the content beside its place, syncs it and renames it to its
// hash. The same content once more changes nothing.
func (s *Store) PutMesh(ctx context.Context, r io.Reader, limit int64) (b record.Blob, err error) {
	f, err := os.CreateTemp(filepath.Join(s.dir, tempFolder), tempPrefix+"*")
	if err != nil {
		return b, fmt.Errorf("keep mesh: %w", err)
	}
	defer func() {
		f.Close()
		os.Remove(f.Name()) // gone already when it was put in place
	}()
	sum := sha256.New()
	if b.Bytes, err = io.Copy(io.MultiWriter(f, sum), io.LimitReader(ctxio.Reader(ctx, r), limit+1)); err != nil {
		return b, fmt.Errorf("receive mesh: %w", err)
	}
	if b.Bytes > limit {
		return b, fmt.Errorf("keep mesh: more than %d bytes: %w", limit, record.ErrTooLarge)
	}
	b.SHA256 = hex.EncodeToString(sum.Sum(nil))
	if err := s.place(f, b.SHA256); err != nil {
		return b, fmt.Errorf("keep mesh %s: %w", b.SHA256, err)
	}
	return b, nil
}

// place makes a written file last under its hash.
func (s *Store) place(f *os.File, sum string) error {
	to := s.path(sum)
	if _, err := os.Stat(to); err == nil {
		now := s.now()
		return os.Chtimes(to, now, now) // not to be swept before a take names it
	}
	if err := f.Sync(); err != nil {
		return err
	}
	if err := f.Close(); err != nil {
		return err
	}
	if err := os.Rename(f.Name(), to); err != nil {
		return err
	}
	return record.SyncFolder(filepath.Dir(to))
}

// path is where content is kept.
func (s *Store) path(sum string) string { return filepath.Join(s.dir, meshFolder, sum) }

// MeshPath returns where a mesh file lies.
func (s *Store) MeshPath(_ context.Context, sum string) (string, error) {
	if b, err := hex.DecodeString(sum); err != nil || len(b) != sha256.Size {
		return "", fmt.Errorf("find mesh %q: no SHA-256", sum)
	}
	_, err := os.Stat(s.path(sum))
	if errors.Is(err, fs.ErrNotExist) {
		return "", fmt.Errorf("find mesh %s: %w", sum, record.ErrNotFound)
	}
	return s.path(sum), err
}

// unnamedFor is how long a file is left alone that no row names yet: another
// program may be receiving it, or about to add its take.
const unnamedFor = time.Hour

// clear removes what was being received when a program was stopped, and the
// meshes that no take names, as an upload that was refused leaves one.
func (s *Store) clear(ctx context.Context) error {
	left, err := filepath.Glob(filepath.Join(globbed(s.dir), tempFolder, tempPrefix+"*"))
	if err != nil {
		return err
	}
	meshes, err := filepath.Glob(filepath.Join(globbed(s.dir), meshFolder, "*"))
	if err != nil {
		return err
	}
	named, err := rows(ctx, s.db, "meshes", scanText, `SELECT DISTINCT sha256 FROM takes`)
	if err != nil {
		return err
	}
	for _, f := range meshes {
		if !slices.Contains(named, filepath.Base(f)) {
			left = append(left, f)
		}
	}
	for _, f := range left {
		if err := s.sweep(f); err != nil {
			return err
		}
	}
	return nil
}

func scanText(r scanner) (t string, err error) { return t, r.Scan(&t) }

// sweep removes a file that nothing has touched for a while.
func (s *Store) sweep(path string) error {
	info, err := os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil // another program was quicker
	}
	if err != nil || s.now().Sub(info.ModTime()) < unnamedFor {
		return err
	}
	if err := os.Remove(path); !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

// globbed is a path in which no character is a pattern's.
func globbed(s string) string {
	return strings.NewReplacer(`*`, `\*`, `?`, `\?`, `[`, `\[`, `\`, `\\`).Replace(s)
}
