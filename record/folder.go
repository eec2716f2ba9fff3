package record

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// BookFolder is the folder within a case's folder that keeps its record.
const BookFolder = "record"

// Folder is the Book of a case that is a folder: one file an entry, 0001.json
// on, and the document of each run under its hash. A file is linked into place
// whole; two writers cannot take the same number.
type Folder struct {
	dir string // of the case
	now func() time.Time
}

var _ Book = (*Folder)(nil)

// OpenFolder returns the book of a case's folder. Now is the clock; nil for the
// machine's.
func OpenFolder(dir string, now func() time.Time) *Folder {
	if now == nil {
		now = time.Now
	}
	return &Folder{dir, now}
}

// pageFile is an entry's file: one object in canonical form and a line end.
type pageFile struct {
	Entry  json.RawMessage `json:"entry"`
	SHA256 string          `json:"sha256"`
}

// Case is 0: a folder has no number.
func (f *Folder) Case() int64 { return 0 }

func (f *Folder) file(name string) string { return filepath.Join(f.dir, BookFolder, name) }

func pageName(n int64) string { return fmt.Sprintf("%04d.json", n) }

// Raw reads the entries' files.
func (f *Folder) Raw(context.Context) ([]Raw, error) {
	names, err := f.pages()
	if err != nil {
		return nil, err
	}
	out := make([]Raw, len(names))
	for i, name := range names {
		b, err := os.ReadFile(f.file(name))
		if err != nil {
			return nil, fmt.Errorf("read the record: %w", err)
		}
		if out[i], err = openPage(b); err != nil {
			return out[:i], &Fault{int64(i + 1), fmt.Sprintf("its file %s %v", f.file(name), err)}
		}
		fmt.Sscanf(name, "%d", &out[i].Number)
	}
	return out, nil
}

// pages lists the files of entries in the order of their numbers.
func (f *Folder) pages() ([]string, error) {
	files, err := os.ReadDir(filepath.Join(f.dir, BookFolder))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("read the record: %w", err)
	}
	var names []string
	for _, d := range files {
		var n int64
		if _, err := fmt.Sscanf(d.Name(), "%d.json", &n); err == nil && pageName(n) == d.Name() {
			names = append(names, d.Name())
		}
	}
	slices.SortFunc(names, func(a, b string) int {
		if len(a) != len(b) {
			return len(a) - len(b)
		}
		return strings.Compare(a, b)
	})
	return names, nil
}

func openPage(b []byte) (Raw, error) {
	var p pageFile
	if err := json.Unmarshal(b, &p); err != nil {
		return Raw{}, fmt.Errorf("cannot be read: %w", err)
	}
	if want, err := writtenPage(p.Entry, p.SHA256); err != nil || !bytes.Equal(want, b) {
		return Raw{}, errors.New("has bytes beside the entry")
	}
	return Raw{Bytes: p.Entry, Hash: p.SHA256}, nil
}

func writtenPage(entry []byte, hash string) ([]byte, error) {
	b, err := canonical(pageFile{entry, hash})
	return append(b, '\n'), err
}

// Append keeps an entry.
func (f *Folder) Append(ctx context.Context, e Entry) (Sealed, error) {
	all, err := Entries(ctx, f)
	if err != nil {
		return Sealed{}, fmt.Errorf("add to the record: %w; nothing is added to a record that is not right", err)
	}
	e.Case, e.Number, e.Previous, e.At = 0, int64(len(all))+1, Beginning, f.now()
	if len(all) > 0 {
		e.Previous = all[len(all)-1].Hash
	}
	s, err := Seal(e)
	if err != nil {
		return s, fmt.Errorf("add to the record: %w", err)
	}
	if err := refers(all, &s.Entry); err != nil {
		return s, fmt.Errorf("add to the record: %w", err)
	}
	b, err := writtenPage(s.Bytes, s.Hash)
	if err != nil {
		return s, err
	}
	if err = f.put(pageName(s.Number), b); errors.Is(err, fs.ErrExist) {
		err = fmt.Errorf("add to the record: another program has just added entry %d; do it again", s.Number)
	}
	return s, err
}

// AddRun keeps a run: its document under its hash, then the entry.
func (f *Folder) AddRun(ctx context.Context, document []byte, who string) (Sealed, error) {
	r, err := RunOf(document, document)
	if err != nil {
		return Sealed{}, err
	}
	name := r.Document + ".json"
	if _, err := os.Stat(f.file(name)); errors.Is(err, fs.ErrNotExist) {
		if err := f.put(name, document); err != nil {
			return Sealed{}, err
		}
	}
	return f.Append(ctx, Entry{Kind: KindRun, Who: who, Run: r})
}

// put makes a file that was not there, whole or not at all.
func (f *Folder) put(name string, b []byte) error {
	if err := os.MkdirAll(filepath.Join(f.dir, BookFolder), 0o755); err != nil {
		return fmt.Errorf("make folder for the record: %w; choose a folder that can be written", err)
	}
	return create(f.file(name), b)
}

// Document reads a run's document.
func (f *Folder) Document(_ context.Context, r *RunEntry) (document, stored []byte, err error) {
	b, err := os.ReadFile(f.file(r.Document + ".json"))
	if errors.Is(err, fs.ErrNotExist) {
		err = fmt.Errorf("find %s: %w", f.file(r.Document+".json"), ErrNotFound)
	}
	return b, b, err
}

// Surface opens a surface's file where the case has it.
func (f *Folder) Surface(_ context.Context, s KeptSurface) (io.ReadCloser, error) {
	path := s.File
	if !filepath.IsAbs(path) {
		path = filepath.Join(f.dir, filepath.FromSlash(path))
	}
	r, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		err = fmt.Errorf("find %s: %w", path, ErrNotFound)
	}
	return r, err
}

// Runs lists nothing: a folder keeps no runs but by their entries.
func (f *Folder) Runs(context.Context) ([]int64, error) { return nil, nil }
