package backup

import (
	"archive/tar"
	"bytes"
	"context"
	"crypto/rand"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"filippo.io/age"
)

func newIdentity(t *testing.T) *age.X25519Identity {
	t.Helper()
	k, err := age.GenerateX25519Identity()
	if err != nil {
		t.Fatal(err)
	}
	return k
}

// made is a backup of two files, one of more than a chunk of the encryption.
func made(t *testing.T, to ...age.Recipient) ([]byte, map[string][]byte) {
	t.Helper()
	dir := t.TempDir()
	big := make([]byte, 150_000)
	if _, err := rand.Read(big); err != nil {
		t.Fatal(err)
	}
	files := map[string][]byte{"bench.db": []byte("a database"), "meshes/big": big, "meshes/none": {}}
	m := &Manifest{Program: "0.1.0", Made: time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC)}
	for _, name := range []string{"bench.db", "meshes/big", "meshes/none"} {
		path := filepath.Join(dir, filepath.Base(name))
		if err := os.WriteFile(path, files[name], 0o600); err != nil {
			t.Fatal(err)
		}
		m.Files = append(m.Files, File{Name: name, Path: path})
	}
	var b bytes.Buffer
	if err := Write(context.Background(), &b, m, nil, to...); err != nil {
		t.Fatal(err)
	}
	return b.Bytes(), files
}

func restored(t *testing.T, b []byte, keys ...age.Identity) (string, error) {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "new", "bench")
	_, err := Restore(context.Background(), bytes.NewReader(b), dir, nil, keys...)
	if _, there := os.Stat(dir); err != nil && there == nil {
		t.Error("after an error the folder is there")
	}
	if left, _ := filepath.Glob(filepath.Join(filepath.Dir(dir), ".restore-*")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
	return dir, err
}

func TestRoundTrip(t *testing.T) {
	a, b := newIdentity(t), newIdentity(t)
	file, files := made(t, a.Recipient(), b.Recipient())
	for _, key := range []age.Identity{a, b} {
		dir, err := restored(t, file, newIdentity(t), key)
		if err != nil {
			t.Fatal(err)
		}
		for name, want := range files {
			if got, err := os.ReadFile(filepath.Join(dir, name)); err != nil || !bytes.Equal(got, want) {
				t.Errorf("%s came back as %d bytes, %v", name, len(got), err)
			}
		}
	}
	if bytes.Contains(file, []byte("a database")) {
		t.Error("the content stands in the file as it is")
	}
}

func TestWrongKeyAndPassphrase(t *testing.T) {
	file, _ := made(t, newIdentity(t).Recipient())
	if _, err := restored(t, file, newIdentity(t)); !errors.Is(err, ErrKey) {
		t.Errorf("another key: %v, want ErrKey", err)
	}
	word, err := age.NewScryptRecipient("right horse battery")
	if err != nil {
		t.Fatal(err)
	}
	word.SetWorkFactor(10)
	file, _ = made(t, word)
	for text, want := range map[string]error{"right horse battery": nil, "wrong horse battery": ErrKey} {
		key, err := age.NewScryptIdentity(text)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := restored(t, file, key); !errors.Is(err, want) {
			t.Errorf("%s: %v, want %v", text, err, want)
		}
	}
}

// TestDamaged changes one bit at places all over the file, every byte of the
// head and of the ends among them, and cuts it off there.
func TestDamaged(t *testing.T) {
	key := newIdentity(t)
	file, _ := made(t, key.Recipient())
	places := 0
	for i := range file {
		if i > 400 && i < len(file)-400 && i%4999 != 0 {
			continue
		}
		places++
		b := bytes.Clone(file)
		b[i] ^= 1 << (i % 8)
		if _, err := restored(t, b, key); err == nil || !told(err) {
			t.Fatalf("bit of byte %d changed: %v", i, err)
		}
		if _, err := restored(t, file[:i], key); err == nil || !told(err) {
			t.Fatalf("cut off at byte %d: %v", i, err)
		}
	}
	if _, err := restored(t, append(bytes.Clone(file), 0), key); !errors.Is(err, ErrDamaged) {
		t.Errorf("a byte more: %v, want ErrDamaged", err)
	}
	if places < 800 {
		t.Errorf("only %d places were tried", places)
	}
}

// told reports whether an error says what to do.
func told(err error) bool {
	return errors.Is(err, ErrDamaged) || errors.Is(err, ErrKey) || strings.Contains(err.Error(), "this is no backup file")
}

// TestHostileArchives: whoever has a public key can write a file that opens.
func TestHostileArchives(t *testing.T) {
	key := newIdentity(t)
	hash := "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855" // of nothing
	list := func(files ...File) []byte {
		b, err := json.Marshal(Manifest{Format: Format, Files: files})
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	type member struct {
		name string
		data []byte
		kind byte
	}
	for name, members := range map[string][]member{
		"a name that leads out":     {{manifestName, list(File{Name: "../x", SHA256: hash}), tar.TypeReg}, {"../x", nil, tar.TypeReg}},
		"a name from the root":      {{manifestName, list(File{Name: "/tmp/x", SHA256: hash}), tar.TypeReg}},
		"a name with a drive":       {{manifestName, list(File{Name: "c:x", SHA256: hash}), tar.TypeReg}},
		"a link":                    {{manifestName, list(File{Name: "x", SHA256: hash}), tar.TypeReg}, {"x", nil, tar.TypeSymlink}},
		"another file than listed":  {{manifestName, list(File{Name: "x", SHA256: hash}), tar.TypeReg}, {"y", nil, tar.TypeReg}},
		"other content than listed": {{manifestName, list(File{Name: "x", Bytes: 1, SHA256: hash}), tar.TypeReg}, {"x", []byte("1"), tar.TypeReg}},
		"a file too few":            {{manifestName, list(File{Name: "x", SHA256: hash}), tar.TypeReg}},
		"a file too many":           {{manifestName, list(File{Name: "x", SHA256: hash}), tar.TypeReg}, {"x", nil, tar.TypeReg}, {"y", nil, tar.TypeReg}},
		"a file twice":              {{manifestName, list(File{Name: "x", SHA256: hash}, File{Name: "x", SHA256: hash}), tar.TypeReg}},
		"no list":                   {{"x", nil, tar.TypeReg}},
		"a list of another form":    {{manifestName, []byte(`{"format":"other"}`), tar.TypeReg}},
		"nothing":                   {},
	} {
		var b bytes.Buffer
		w, err := age.Encrypt(&b, key.Recipient())
		if err != nil {
			t.Fatal(err)
		}
		a := tar.NewWriter(w)
		for _, m := range members {
			if err := a.WriteHeader(&tar.Header{Name: m.name, Size: int64(len(m.data)), Typeflag: m.kind, Linkname: "target"}); err != nil {
				t.Fatal(err)
			}
			if _, err := a.Write(m.data); err != nil {
				t.Fatal(err)
			}
		}
		if err := errors.Join(a.Close(), w.Close()); err != nil {
			t.Fatal(err)
		}
		if _, err := restored(t, b.Bytes(), key); err == nil {
			t.Errorf("%s was restored", name)
		}
	}
}

func TestNothingIsOverwritten(t *testing.T) {
	key := newIdentity(t)
	file, _ := made(t, key.Recipient())
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "mine"), nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Restore(context.Background(), bytes.NewReader(file), dir, nil, key); err == nil || !strings.Contains(err.Error(), "not empty") {
		t.Errorf("a folder with something in it: %v", err)
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := Restore(ctx, bytes.NewReader(file), filepath.Join(dir, "new"), nil, key); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
}

func TestFileThatChanges(t *testing.T) {
	path := filepath.Join(t.TempDir(), "x")
	if err := os.WriteFile(path, []byte("one"), 0o600); err != nil {
		t.Fatal(err)
	}
	m := &Manifest{Files: []File{{Name: "x", Path: path}}}
	change := func(step string, _, _ int) {
		if step == "hashing" {
			if err := os.WriteFile(path, []byte("two"), 0o600); err != nil {
				t.Error(err)
			}
		}
	}
	if err := Write(context.Background(), &bytes.Buffer{}, m, change, newIdentity(t).Recipient()); !errors.Is(err, errChanged) {
		t.Errorf("%v, want errChanged", err)
	}
}
