// Package parcel holds a case as all that it is measured from: its description
// as text and its files by the hashes of their content. So one can tell whether
// a case has changed, and send it to a machine that has the same files under
// their hashes. Measured there it gives the same document, byte for byte.
package parcel

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"crownassay/assay"
	"crownassay/geom"
	"crownassay/record"
)

// Parcel is what a case is measured from.
type Parcel struct {
	Program     string       `json:"program"`        // version that it is measured with
	Text        string       `json:"text,omitempty"` // case.yaml, of a case folder
	Kept        *record.Kept `json:"kept,omitempty"` // of a case of a store, without whose and when it is
	Line        []geom.Vec   `json:"line,omitempty"` // drawn on a case of a store, mm
	ScannerUM   float64      `json:"scanner_um,omitempty"`
	ScannerFrom string       `json:"scanner_from,omitempty"` // the check of the scanner that the case takes, in words
	Files       []File       `json:"files"`
}

// File is a file of a case.
type File struct {
	Role   string `json:"role,omitempty"` // of a surface; empty for other files
	Name   string `json:"name"`           // as the case gives it
	SHA256 string `json:"sha256"`
}

// Packed is a parcel with the case it was made of.
type Packed struct {
	Parcel
	Case  *assay.Case
	paths map[string]string // where content of a hash is
}

// Key is the SHA-256 of all that the case is measured from, in hexadecimal.
func (p *Parcel) Key() (string, error) {
	b, err := json.Marshal(p)
	if err != nil {
		return "", err
	}
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:]), nil
}

// Path returns where the content of a hash of the case's files is.
func (p *Packed) Path(sha string) string { return p.paths[sha] }

// OfFolder packs a case folder or its description. Scanner says what is known
// of the scanner where the case does not; nil for nothing.
func OfFolder(ctx context.Context, path string, scanner func(*assay.Case)) (*Packed, error) {
	c, err := assay.LoadCase(path)
	if err != nil {
		return nil, err
	}
	text, err := os.ReadFile(c.Path)
	if err != nil {
		return nil, err
	}
	p := &Packed{Parcel: Parcel{Program: record.Version, Text: string(text)}, Case: c, paths: map[string]string{}}
	if scanner != nil {
		scanner(c)
	}
	if c.ScannerFrom != "" {
		p.ScannerUM, p.ScannerFrom = c.ScannerUM, c.ScannerFrom
	}
	for _, s := range c.Surfaces {
		if err := p.add(ctx, string(s.Role), s.File, s.Path); err != nil {
			return nil, err
		}
	}
	for _, name := range []string{c.LimitsFile, c.LutingFile, c.LineFile} {
		if name == "" {
			continue
		}
		at := name
		if !filepath.IsAbs(at) {
			at = filepath.Join(filepath.Dir(c.Path), at)
		}
		if err := p.add(ctx, "", name, at); err != nil {
			return nil, err
		}
	}
	return p, nil
}

// OfStore packs a case of a store as it stands there. Scanner is as for
// OfFolder.
func OfStore(ctx context.Context, s record.Store, id int64, scanner func(*assay.Case)) (*Packed, error) {
	k, err := s.Case(ctx, id)
	if err != nil {
		return nil, err
	}
	k.Patient, k.Title = "", "" // not measured with, and nobody else's business
	k.Created, k.Changed = time.Time{}, time.Time{}
	p := &Packed{Parcel: Parcel{Program: record.Version, Kept: &k}, paths: map[string]string{}}
	lines, err := s.Lines(ctx, id)
	if err != nil {
		return nil, err
	}
	p.Line = record.HeldLine(lines).Points
	takes, err := s.Takes(ctx, id)
	if err != nil {
		return nil, err
	}
	now := record.Current(takes)
	if _, ok := now[string(assay.Prepared)]; !ok {
		return nil, record.ErrNoPrepared
	}
	for _, role := range assay.Roles {
		t, ok := now[string(role)]
		if !ok {
			continue
		}
		if p.paths[t.SHA256], err = s.MeshPath(ctx, t.SHA256); err != nil {
			return nil, err
		}
		p.Files = append(p.Files, File{string(role), t.File, t.SHA256})
	}
	if p.Case, err = p.keptCase(p.paths); err != nil {
		return nil, err
	}
	if scanner != nil && p.Case.ScannerUM == 0 {
		scanner(p.Case)
		p.ScannerUM, p.ScannerFrom = p.Case.ScannerUM, p.Case.ScannerFrom
	}
	return p, nil
}

// keptCase is a case of a store with its files where they are.
func (p *Parcel) keptCase(paths map[string]string) (*assay.Case, error) {
	c, err := assay.OfKept(*p.Kept)
	if err != nil {
		return nil, err
	}
	c.FinishLine = p.Line
	for _, f := range p.Files {
		c.Surfaces = append(c.Surfaces, assay.Source{Role: assay.Role(f.Role), File: f.Name, Path: paths[f.SHA256]})
	}
	return c, nil
}

// add hashes a file.
func (p *Packed) add(ctx context.Context, role, name, path string) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	f, err := os.Open(path)
	if err != nil {
		return fmt.Errorf("read %s: %w", name, err)
	}
	defer f.Close()
	sum, err := record.HashReader(f)
	if err != nil {
		return fmt.Errorf("read %s: %w", name, err)
	}
	p.paths[sum] = path
	p.Files = append(p.Files, File{role, name, sum})
	return nil
}

// Measure measures the case and returns its document.
func (p *Packed) Measure(ctx context.Context) ([]byte, error) {
	r, err := assay.Run(ctx, p.Case, assay.Options{})
	if err != nil {
		return nil, plain(err, p.Case)
	}
	for _, s := range r.Surfaces {
		if !p.has(s.Role, s.SHA256) {
			return nil, fmt.Errorf("%s was changed while the case was measured: measure it again", s.File)
		}
	}
	var doc bytes.Buffer
	if err := r.WriteJSON(&doc); err != nil {
		return nil, err
	}
	return doc.Bytes(), nil
}

func (p *Parcel) has(role, sum string) bool {
	for _, f := range p.Files {
		if f.Role == role && f.SHA256 == sum {
			return true
		}
	}
	return false
}

// plain names files in an error as the case does, so that it says the same
// wherever the case is measured.
func plain(err error, c *assay.Case) error {
	text := err.Error()
	for _, s := range c.Surfaces {
		text = strings.ReplaceAll(text, s.Path, s.File)
	}
	if dir := filepath.Dir(c.Path); dir != "." {
		text = strings.ReplaceAll(text, dir+string(filepath.Separator), "")
	}
	if text == err.Error() {
		return err
	}
	return &said{text, err}
}

// said is an error in other words.
type said struct {
	text string
	err  error
}

func (s *said) Error() string { return s.text }
func (s *said) Unwrap() error { return s.err }
