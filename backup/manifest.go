package backup

import (
	"encoding/hex"
	"encoding/json"
	"fmt"
	"path"
	"strings"
	"time"
)

// Format names the form of the archive.
const Format = "crownassay-backup/1"

// manifestName is the archive's first member.
const manifestName = "manifest.json"

// Manifest lists what is in a backup.
type Manifest struct {
	Format  string    `json:"format"`
	Program string    `json:"program"` // version that wrote it
	Made    time.Time `json:"made"`    // when the snapshot was taken, UTC
	Files   []File    `json:"files"`
}

// File is one file of a backup.
type File struct {
	Name   string `json:"name"` // within the store's folder, with slashes
	Bytes  int64  `json:"bytes"`
	SHA256 string `json:"sha256"`

	Path string `json:"-"` // where it lies while a backup is made
}

// Bounds of what is read before it is trusted.
const (
	mostManifest = 64 << 20 // bytes: some 400,000 files
	mostFiles    = 1 << 20
)

func readManifest(b []byte) (*Manifest, error) {
	var m Manifest
	if err := json.Unmarshal(b, &m); err != nil {
		return nil, fmt.Errorf("read %s: %w", manifestName, err)
	}
	if m.Format != Format {
		return nil, fmt.Errorf("read %s: the backup is of form %q, and this program reads %s; use the version that wrote it", manifestName, m.Format, Format)
	}
	if len(m.Files) == 0 || len(m.Files) > mostFiles {
		return nil, fmt.Errorf("read %s: it lists %d files", manifestName, len(m.Files))
	}
	seen := map[string]bool{}
	for _, f := range m.Files {
		if err := f.check(); err != nil {
			return nil, fmt.Errorf("read %s: %w", manifestName, err)
		}
		if seen[f.Name] {
			return nil, fmt.Errorf("read %s: %s is listed twice", manifestName, f.Name)
		}
		seen[f.Name] = true
	}
	return &m, nil
}

// check refuses a name that leads out of the folder.
func (f *File) check() error {
	if f.Name == "" || f.Name == manifestName || path.Clean(f.Name) != f.Name || path.IsAbs(f.Name) || strings.HasPrefix(f.Name, "..") || strings.ContainsAny(f.Name, "\\:\x00") {
		return fmt.Errorf("the name %q is none of a store's files", f.Name)
	}
	if b, err := hex.DecodeString(f.SHA256); err != nil || len(b) != 32 || f.Bytes < 0 {
		return fmt.Errorf("%s has no SHA-256 or length", f.Name)
	}
	return nil
}
