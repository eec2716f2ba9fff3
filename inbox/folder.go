package inbox

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"
)

// folder is a folder within the box.
type folder struct {
	looks   string    // names, sizes and times of what is in it
	changed time.Time // when that was last seen to change
	since   time.Time // when it first was as the one that waits
	taken   string    // how it looked when it was handed on
}

// takeFolders hands on the folders in which nothing has changed for a while.
func (b *Box) takeFolders(ctx context.Context, folders map[string]*folder) {
	now := time.Now()
	for path, f := range folders {
		looks, files, err := b.inside(path)
		if err != nil {
			delete(folders, path) // it was taken away
			continue
		}
		if looks != f.looks {
			f.looks, f.changed, f.since = looks, now, now
		}
		if len(files) == 0 || looks == f.taken || now.Sub(f.changed) < b.Still {
			continue
		}
		if err := b.Folder(ctx, path, files); errors.Is(err, ErrPart) && now.Sub(f.since) < b.Patience {
			f.changed = now
		} else {
			f.taken = looks
			b.Tell(path, err)
		}
	}
}

// inside says how a folder looks, and lists its files that are wanted; none
// while one of them is empty still.
func (b *Box) inside(dir string) (looks string, files []string, err error) {
	all, err := os.ReadDir(dir) // by name
	if err != nil {
		return "", nil, err
	}
	empty := false
	for _, e := range all {
		info, err := e.Info()
		if err != nil || !info.Mode().IsRegular() || strings.HasPrefix(e.Name(), ".") {
			continue
		}
		looks += fmt.Sprintf("%q %d %d\n", e.Name(), info.Size(), info.ModTime().UnixNano())
		if path := filepath.Join(dir, e.Name()); b.wants(path) {
			files = append(files, path)
			empty = empty || info.Size() == 0
		}
	}
	if empty {
		files = nil
	}
	return looks, files, nil
}
