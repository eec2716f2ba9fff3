package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"crownassay/assay"
	"crownassay/inbox"
	"crownassay/web"
)

type watchCommand struct {
	benchFlags
	Dir  string `arg:"" help:"Folder into which the scanner or the design program exports."`
	Case int64  `placeholder:"N" help:"Number of the case that takes the files; by default the one changed last when a file comes."`
}

// Run adds the mesh files that come into a folder to the bench's store until
// it is interrupted. Files stay where they are.
func (c *watchCommand) Run(p *program) error {
	dir, err := c.dir()
	if err != nil {
		return err
	}
	b, err := openBench(p.ctx, dir)
	if err != nil {
		return err
	}
	box := inbox.Box{Dir: c.Dir, Wants: isMeshName,
		Take:   func(ctx context.Context, path string) error { return c.take(ctx, p, b, path) },
		Folder: func(ctx context.Context, dir string, files []string) error { return c.folder(ctx, p, b, dir, files) },
		Tell: func(path string, err error) {
			if err != nil {
				fmt.Fprintf(p.stderr, "crownassay: %s was not added: %v\n", filepath.Base(path), err)
			}
		}}
	fmt.Fprintf(p.stdout, "Watching %s. Interrupt to end.\n", c.Dir)
	return errors.Join(box.Follow(p.ctx), b.close())
}

// isMeshName reports whether a name ends like a mesh file's.
func isMeshName(name string) bool {
	switch strings.ToLower(filepath.Ext(name)) {
	case ".stl", ".ply", ".obj", ".3mf":
		return true
	}
	return false
}

// take adds one file. One that cannot be read may still be written to.
func (c *watchCommand) take(ctx context.Context, p *program, b *bench, path string) error {
	id, err := c.target(ctx, b)
	if err != nil {
		return err
	}
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	t, fresh, err := b.Take(ctx, id, filepath.Base(path), "", f)
	var no *web.Refusal
	if errors.As(err, &no) {
		return fmt.Errorf("%w (%w)", err, inbox.ErrPart)
	}
	if err != nil {
		return err
	}
	word := "is there already"
	if fresh {
		word = "added"
	}
	role := t.Role
	if role == "" {
		role = "of unknown role"
	}
	fmt.Fprintf(p.stdout, "%s: %s to case %d, %s (%s)\n", t.File, word, id, role, t.Why)
	return nil
}

// folder adds a folder that was dropped at once: one with a description is a
// case of its own, the files of another go where single files do.
func (c *watchCommand) folder(ctx context.Context, p *program, b *bench, dir string, files []string) error {
	_, err := os.Stat(filepath.Join(dir, assay.CaseFile))
	if errors.Is(err, fs.ErrNotExist) {
		for _, f := range files {
			if err := c.take(ctx, p, b, f); err != nil {
				return err
			}
		}
		return nil
	}
	k, err := assay.LoadCase(dir)
	if err != nil {
		return fmt.Errorf("%w (%w)", err, inbox.ErrPart) // a file that it names may still come
	}
	title := filepath.Base(dir)
	id, missing, err := b.begun(ctx, k, title)
	if err != nil || missing == 0 {
		return err
	}
	run, err := b.addCase(ctx, id, k, title)
	if err != nil {
		return err
	}
	fmt.Fprintf(p.stdout, "%s: added as case %d, %s, with %d surfaces\n", title, run.Case, k.Tooth.Name(), len(run.Takes))
	return nil
}

// target is the case that takes a file.
func (c *watchCommand) target(ctx context.Context, b *bench) (int64, error) {
	if c.Case != 0 {
		k, err := b.store.Case(ctx, c.Case)
		return k.ID, err
	}
	ks, err := b.store.Cases(ctx)
	if err != nil {
		return 0, err
	}
	if len(ks) == 0 {
		return 0, errors.New("the bench has no case yet: add one on the page, then the file is taken")
	}
	return ks[0].ID, nil
}
