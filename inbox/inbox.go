package inbox

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/fsnotify/fsnotify"
)

// Box is a folder that is followed.
type Box struct {
	Dir   string
	Wants func(name string) bool // by the file's name; nil for every file

	// Take is given a file whose size has not changed for Still. An error that
	// says so by ErrPart means that it is not whole yet; it is given again when
	// it has changed, or after Still, up to Patience. Other errors are told.
	Take func(ctx context.Context, path string) error

	// Folder is given a folder that was put there whole, when nothing within it
	// has changed for Still, with the paths of its files that are wanted, and
	// again when it changes later; its errors are as those of Take. Nil leaves
	// folders alone. Folders within it are not looked at.
	Folder func(ctx context.Context, dir string, files []string) error

	Tell func(path string, err error) // a file was taken (nil) or given up

	Still    time.Duration // 0 takes a second
	Patience time.Duration // 0 takes a minute
}

// ErrPart says that a file is not whole yet.
var ErrPart = errors.New("the file is not whole")

// waiting is a file that was seen.
type waiting struct {
	size    int64
	changed time.Time // when its size was last seen to change
	since   time.Time // when it was first seen so
}

// Follow takes the files that are in the folder and those that come, until the
// context ends.
func (b *Box) Follow(ctx context.Context) error {
	if b.Still == 0 {
		b.Still = time.Second
	}
	if b.Patience == 0 {
		b.Patience = time.Minute
	}
	w, err := fsnotify.NewWatcher()
	if err != nil {
		return fmt.Errorf("follow %s: %w", b.Dir, err)
	}
	defer w.Close()
	if err := w.Add(b.Dir); err != nil {
		return fmt.Errorf("follow %s: %w; give a folder that is there", b.Dir, err)
	}
	files, folders := map[string]*waiting{}, map[string]*folder{}
	b.look(files, folders)
	tick := time.NewTicker(b.Still / 4)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return nil
		case e := <-w.Events:
			if e.Has(fsnotify.Create) || e.Has(fsnotify.Write) {
				b.seen(files, folders, e.Name)
			}
		case err := <-w.Errors:
			if errors.Is(err, fsnotify.ErrEventOverflow) {
				b.look(files, folders) // some were missed
				continue
			}
			return fmt.Errorf("follow %s: %w", b.Dir, err)
		case <-tick.C:
			b.takeStill(ctx, files)
			b.takeFolders(ctx, folders)
		}
	}
}

// look sees what is in the folder.
func (b *Box) look(files map[string]*waiting, folders map[string]*folder) {
	all, _ := filepath.Glob(filepath.Join(globbed(b.Dir), "*")) // the pattern is well formed
	for _, f := range all {
		b.seen(files, folders, f)
	}
}

// globbed is a path in which no character is a pattern's.
func globbed(s string) string {
	return strings.NewReplacer(`*`, `\*`, `?`, `\?`, `[`, `\[`, `\`, `\\`).Replace(s)
}

// seen notes a file or a folder as it is now.
func (b *Box) seen(files map[string]*waiting, folders map[string]*folder, path string) {
	info, err := os.Stat(path)
	if err != nil || strings.HasPrefix(filepath.Base(path), ".") {
		return
	}
	if info.IsDir() && b.Folder != nil && folders[path] == nil {
		folders[path] = &folder{since: time.Now()}
	}
	if !info.Mode().IsRegular() || !b.wants(path) {
		return
	}
	now := time.Now()
	f := files[path]
	if f == nil {
		files[path] = &waiting{info.Size(), now, now}
		return
	}
	if f.size != info.Size() {
		*f = waiting{info.Size(), now, now}
		return
	}
	f.changed = now // written to, though not longer
}

func (b *Box) wants(path string) bool { return b.Wants == nil || b.Wants(filepath.Base(path)) }

// takeStill hands on the files that have not changed for a while.
func (b *Box) takeStill(ctx context.Context, files map[string]*waiting) {
	now := time.Now()
	for path, f := range files {
		info, err := os.Stat(path)
		if err != nil {
			delete(files, path) // it was taken away
			continue
		}
		if info.Size() != f.size {
			*f = waiting{info.Size(), now, now}
		}
		if f.size == 0 || now.Sub(f.changed) < b.Still {
			continue
		}
		if err = b.Take(ctx, path); errors.Is(err, ErrPart) && now.Sub(f.since) < b.Patience {
			f.changed = now
			continue
		}
		delete(files, path)
		b.Tell(path, err)
	}
}
