package record

import (
	"bytes"
	"fmt"
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
	if err := replace(filepath.Join(dir, JSONFile), doc.Bytes()); err != nil {
		return err
	}
	return replace(filepath.Join(dir, LedgerFile), ledger.Bytes())
}

// replace puts a file in place by writing beside it, syncing and renaming.
func replace(path string, b []byte) (err error) {
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
	if err = os.Rename(f.Name(), path); err != nil {
		return err
	}
	return SyncFolder(filepath.Dir(path))
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
