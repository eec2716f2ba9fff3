package sqlite

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"crownassay/record"
)

// SetAside keeps what can be made again in one file a case and kind, whose
// first line is the key.
func (s *Store) SetAside(_ context.Context, id int64, kind, key string, content []byte) error {
	to, err := s.aside(id, kind)
	if err != nil {
		return err
	}
	if strings.Contains(key, "\n") {
		return fmt.Errorf("set %s of case %d aside: the key %q has a line end", kind, id, key)
	}
	f, err := os.CreateTemp(filepath.Join(s.dir, tempFolder), tempPrefix+"*")
	if err != nil {
		return fmt.Errorf("set %s of case %d aside: %w", kind, id, err)
	}
	defer func() {
		f.Close()
		os.Remove(f.Name()) // gone already when it was put in place
	}()
	for _, b := range [][]byte{[]byte(key + "\n"), content} {
		if _, err := f.Write(b); err != nil {
			return fmt.Errorf("set %s of case %d aside: %w", kind, id, err)
		}
	}
	if err := errors.Join(f.Sync(), f.Close()); err != nil {
		return fmt.Errorf("set %s of case %d aside: %w", kind, id, err)
	}
	if err := os.Rename(f.Name(), to); err != nil {
		return fmt.Errorf("set %s of case %d aside: %w", kind, id, err)
	}
	return record.SyncFolder(filepath.Dir(to))
}

// Aside returns what was set aside under a key.
func (s *Store) Aside(_ context.Context, id int64, kind, key string) ([]byte, error) {
	at, err := s.aside(id, kind)
	if err != nil {
		return nil, err
	}
	b, err := os.ReadFile(at)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("read %s of case %d: %w", kind, id, err)
	}
	had, content, _ := bytes.Cut(b, []byte{'\n'})
	if err != nil || string(had) != key {
		return nil, fmt.Errorf("find %s of case %d as %s: %w", kind, id, key, record.ErrNotFound)
	}
	return content, nil
}

// aside is where a kind of a case is kept.
func (s *Store) aside(id int64, kind string) (string, error) {
	if kind == "" || strings.Trim(kind, "abcdefghijklmnopqrstuvwxyz0123456789-_.") != "" {
		return "", fmt.Errorf("set %q of case %d aside: the kind may have small letters, figures, dots, dashes and underscores", kind, id)
	}
	return filepath.Join(s.dir, asideFolder, fmt.Sprintf("%d-%s", id, kind)), nil
}
