package backup

import (
	"path/filepath"
	"strings"
	"testing"
)

// FuzzManifest: no name that is taken leads out of the folder.
func FuzzManifest(f *testing.F) {
	f.Add([]byte(`{"format":"crownassay-backup/1","files":[{"name":"meshes/x","bytes":0,"sha256":"e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"}]}`))
	f.Add([]byte(`{"format":"crownassay-backup/1","files":[{"name":"../x","bytes":0,"sha256":"e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"}]}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		m, err := readManifest(b)
		if err != nil {
			return
		}
		for _, x := range m.Files {
			if at := filepath.Join("dir", filepath.FromSlash(x.Name)); !strings.HasPrefix(at, "dir"+string(filepath.Separator)) {
				t.Errorf("%q leads to %s", x.Name, at)
			}
		}
	})
}
