package parcel

import (
	"context"
	"fmt"
	"os"
	"path"
	"path/filepath"
	"strings"

	"crownassay/assay"
)

// Sendable says why the case cannot be measured on another machine; nil when it
// can.
func (p *Parcel) Sendable() error {
	for _, f := range p.Files {
		if filepath.IsAbs(f.Name) || path.IsAbs(filepath.ToSlash(f.Name)) {
			return fmt.Errorf("%s is named by its whole path, which other machines do not have; name it relative to the folder of the case", f.Name)
		}
	}
	return nil
}

// Unpack lays the case out below a folder, which is empty, and gets its files
// from where they are kept by their hashes: get writes the content of a hash to
// a path that is not there yet.
func (p *Parcel) Unpack(ctx context.Context, dir string, get func(ctx context.Context, sha, to string) error) (*Packed, error) {
	if err := p.Sendable(); err != nil {
		return nil, err
	}
	out := &Packed{Parcel: *p, paths: map[string]string{}}
	if p.Kept != nil {
		for _, f := range p.Files {
			out.paths[f.SHA256] = filepath.Join(dir, f.SHA256)
		}
	} else {
		dir = filepath.Join(dir, strings.Repeat("in/", p.above())+"in")
	}
	for _, f := range p.Files {
		to := out.paths[f.SHA256]
		if p.Kept == nil {
			to = filepath.Join(dir, filepath.FromSlash(f.Name))
		}
		if _, err := os.Stat(to); err == nil {
			continue // of another role, with the same content
		}
		if err := os.MkdirAll(filepath.Dir(to), 0o700); err != nil {
			return nil, err
		}
		if err := get(ctx, f.SHA256, to); err != nil {
			return nil, err
		}
	}
	return out, out.load(dir)
}

// load reads the case that was laid out.
func (p *Packed) load(dir string) (err error) {
	if p.Kept != nil {
		p.Case, err = p.keptCase(p.paths)
	} else {
		if err := os.MkdirAll(dir, 0o700); err != nil {
			return err
		}
		file := filepath.Join(dir, assay.CaseFile)
		if err := os.WriteFile(file, []byte(p.Text), 0o600); err != nil {
			return err
		}
		p.Case, err = assay.LoadCase(file)
	}
	if err == nil && p.ScannerFrom != "" {
		p.Case.ScannerUM, p.Case.ScannerFrom = p.ScannerUM, p.ScannerFrom
	}
	return err
}

// above is how many folders above the case's own its files lie at most.
func (p *Parcel) above() (most int) {
	for _, f := range p.Files {
		n := 0
		for rest := path.Clean(filepath.ToSlash(f.Name)); strings.HasPrefix(rest, "../"); rest = rest[len("../"):] {
			n++
		}
		most = max(most, n)
	}
	return most
}
