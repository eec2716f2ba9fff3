package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path"
	"path/filepath"
	"strings"

	"crownassay/assay"
	"crownassay/web"
)

// describer reads case folders of which only the texts are here.
type describer struct{}

var _ web.Describer = describer{}

// Describe lays the folder out as far as its description needs it, mesh files
// by their names only, and reads it as any case folder.
func (describer) Describe(_ context.Context, texts map[string]string, meshes []string) (d web.Described, err error) {
	dir, err := os.MkdirTemp("", "crownassay-")
	if err != nil {
		return d, err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	for _, name := range meshes {
		if _, also := texts[name]; also {
			continue
		}
		if err := lay(dir, name, ""); err != nil {
			return d, err
		}
	}
	for name, text := range texts {
		if err := lay(dir, name, text); err != nil {
			return d, err
		}
	}
	c, err := assay.LoadCase(filepath.Join(dir, assay.CaseFile))
	if err == nil {
		d.Case, err = keptOf(c, "")
	}
	if err != nil {
		return d, &web.Refusal{Text: strings.ReplaceAll(err.Error(), dir+string(filepath.Separator), "")}
	}
	d.FinishLine, d.Surfaces = c.FinishLine, []web.NamedSurface{}
	for _, s := range c.Surfaces {
		d.Surfaces = append(d.Surfaces, web.NamedSurface{Role: string(s.Role), File: path.Clean(filepath.ToSlash(s.File))})
	}
	return d, nil
}

// lay writes a file below a folder.
func lay(dir, name, text string) error {
	if !filepath.IsLocal(filepath.FromSlash(name)) {
		return &web.Refusal{Text: fmt.Sprintf("read folder: %q is not within it; give names relative to %s", name, assay.CaseFile)}
	}
	at := filepath.Join(dir, filepath.FromSlash(name))
	if err := os.MkdirAll(filepath.Dir(at), 0o700); err != nil {
		return &web.Refusal{Text: fmt.Sprintf("read folder: %q is a file and a folder; give each a name of its own", name)}
	}
	if err := os.WriteFile(at, []byte(text), 0o600); err != nil {
		return &web.Refusal{Text: fmt.Sprintf("read folder: %q is no name of a file; rename it", name)}
	}
	return nil
}
