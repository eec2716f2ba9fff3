package record

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"os"
	"path/filepath"
)

// The files that Write makes.
const (
	JSONFile   = "record.json"
	LedgerFile = "ledger.txt"
)

// Write writes the record and its ledger into dir, which is made if it is not
// there. A file is there whole or not at all, also after a power cut.
func (r *Record) Write(dir string) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return fmt.Errorf("make folder for the record: %w; choose a folder that can be written", err)
	}
	var doc, ledger bytes.Buffer
	if err := r.WriteJSON(&doc); err != nil {
		return fmt.Errorf("encode record: %w", err)
	}
	if err := r.Ledger(&ledger, Look{}); err != nil {
		return err
	}
	if err := Replace(filepath.Join(dir, JSONFile), doc.Bytes()); err != nil {
		return err
	}
	return Replace(filepath.Join(dir, LedgerFile), ledger.Bytes())
}

// Replace puts a file in place by writing beside it, syncing and renaming.
func Replace(path string, b []byte) error { return putWhole(path, b, os.Rename) }

// create is Replace for a file that must not be there yet.
func create(path string, b []byte) error {
	return putWhole(path, b, func(from, to string) error {
		if err := os.Link(from, to); err != nil {
			return err
		}
		return os.Remove(from)
	})
}

// putWhole writes beside a path, syncs and then moves the file there.
func putWhole(path string, b []byte, move func(from, to string) error) (err error) {
	f, err := os.CreateTemp(filepath.Dir(path), ".record-*")
	if err != nil {
		return fmt.Errorf("write %s: %w; choose a folder that can be written", path, err)
	}
	defer func() {
		if err != nil {
			f.Close()
			os.Remove(f.Name())
			err = fmt.Errorf("write %s: %w", path, err)
		}
	}()
	if _, err = f.Write(b); err != nil {
		return err
	}
	if err = f.Chmod(0o644); err != nil {
		return err
	}
	if err = f.Sync(); err != nil {
		return err
	}
	if err = f.Close(); err != nil {
		return err
	}
	if err = move(f.Name(), path); err != nil {
		return err
	}
	return SyncFolder(filepath.Dir(path))
}

// HashReader is the SHA-256 of all that a reader gives, in hexadecimal.
func HashReader(r io.Reader) (string, error) {
	sum := sha256.New()
	if _, err := io.Copy(sum, r); err != nil {
		return "", err
	}
	return hex.EncodeToString(sum.Sum(nil)), nil
}

// SyncFolder makes a rename in a folder last.
func SyncFolder(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	defer d.Close()
	return d.Sync()
}
