package backup

import (
	"archive/tar"
	"bufio"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"filippo.io/age"

	"crownassay/internal/ctxio"
)

// ErrKey says that the key or the passphrase does not open a backup.
var ErrKey = errors.New("the key does not open this backup; give the one that it was made for. If it is that one, the head of the file is damaged: take another copy")

// ErrDamaged says that a backup was changed or cut off.
var ErrDamaged = errors.New("the backup is damaged: it was changed or cut off; take another copy of it")

// Restore reads a backup into dir, which must not be there or be empty, and
// returns its manifest. Nothing is left there after an error. Every file's
// length and hash are those of the manifest.
func Restore(ctx context.Context, r io.Reader, dir string, tell Progress, keys ...age.Identity) (*Manifest, error) {
	if err := empty(dir); err != nil {
		return nil, err
	}
	parent := filepath.Dir(filepath.Clean(dir))
	if err := os.MkdirAll(parent, 0o755); err != nil {
		return nil, fmt.Errorf("restore into %s: %w; choose a folder that can be written", dir, err)
	}
	beside, err := os.MkdirTemp(parent, ".restore-*")
	if err != nil {
		return nil, fmt.Errorf("restore into %s: %w; choose a folder that can be written", dir, err)
	}
	defer os.RemoveAll(beside) // gone already when it was put in place
	m, err := unpack(ctx, r, beside, tell, keys)
	if err != nil {
		return nil, err
	}
	if err := os.Remove(dir); err != nil && !errors.Is(err, os.ErrNotExist) {
		return nil, fmt.Errorf("restore into %s: %w", dir, err)
	}
	if err := os.Rename(beside, dir); err != nil {
		return nil, fmt.Errorf("restore into %s: %w", dir, err)
	}
	return m, sync(parent)
}

// empty refuses a folder in which something is.
func empty(dir string) error {
	had, err := os.ReadDir(dir)
	switch {
	case errors.Is(err, os.ErrNotExist):
		return nil
	case err != nil:
		return fmt.Errorf("restore into %s: %w", dir, err)
	case len(had) > 0:
		return fmt.Errorf("restore into %s: the folder is not empty; give a new one, so that nothing is overwritten", dir)
	}
	return nil
}

// unpack reads the archive into a folder.
func unpack(ctx context.Context, r io.Reader, dir string, tell Progress, keys []age.Identity) (*Manifest, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	locked := bufio.NewReaderSize(ctxio.Reader(ctx, r), 1<<16)
	if head, err := locked.Peek(len(ageIntro)); err != nil || string(head) != ageIntro {
		return nil, fmt.Errorf("read backup: this is no backup file: it does not begin like one; give a file that \"crownassay backup\" wrote")
	}
	open, err := age.Decrypt(locked, keys...)
	if err != nil {
		return nil, refused(err)
	}
	archive := tar.NewReader(open)
	m, err := first(archive)
	if err != nil {
		return nil, damaged(ctx, err)
	}
	for i := range m.Files {
		if err := m.Files[i].restore(archive, dir); err != nil {
			return nil, damaged(ctx, err)
		}
		tell.say("restoring", i+1, len(m.Files))
	}
	return m, damaged(ctx, ended(archive, open))
}

// ageIntro is the first line of an age file.
const ageIntro = "age-encryption.org/v1\n"

// refused tells a wrong key from a damaged head.
func refused(err error) error {
	var no *age.NoIdentityMatchError
	if errors.As(err, &no) || errors.Is(err, age.ErrIncorrectIdentity) {
		return fmt.Errorf("open backup: %w", ErrKey)
	}
	return fmt.Errorf("open backup: %w (%v)", ErrDamaged, err)
}

// damaged says what a fault within the archive comes from: bytes that decrypt
// are those that were written, so anything wrong was cut off or changed.
func damaged(ctx context.Context, err error) error {
	var path *os.PathError
	switch {
	case err == nil:
		return nil
	case ctx.Err() != nil:
		return ctx.Err()
	case errors.As(err, &path): // the disk's, not the backup's
		return fmt.Errorf("restore: %w", err)
	}
	return fmt.Errorf("read backup: %w (%v)", ErrDamaged, err)
}

// first reads the manifest.
func first(archive *tar.Reader) (*Manifest, error) {
	h, err := archive.Next()
	if err != nil {
		return nil, err
	}
	if h.Name != manifestName || h.Size > mostManifest {
		return nil, fmt.Errorf("it begins with %q and not with its list", h.Name)
	}
	b, err := io.ReadAll(io.LimitReader(archive, mostManifest))
	if err != nil {
		return nil, err
	}
	return readManifest(b)
}

// restore writes the next member of the archive, which must be this file.
func (f *File) restore(archive *tar.Reader, dir string) error {
	h, err := archive.Next()
	if err != nil {
		return fmt.Errorf("%s: %w", f.Name, err)
	}
	if h.Name != f.Name || h.Size != f.Bytes || h.Typeflag != tar.TypeReg {
		return fmt.Errorf("%s of %d bytes stands where %s of %d bytes should", h.Name, h.Size, f.Name, f.Bytes)
	}
	to := filepath.Join(dir, filepath.FromSlash(f.Name))
	if err := os.MkdirAll(filepath.Dir(to), 0o700); err != nil {
		return err
	}
	w, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	defer w.Close()
	sum := sha256.New()
	if _, err := io.Copy(io.MultiWriter(w, sum), archive); err != nil {
		return fmt.Errorf("%s: %w", f.Name, err)
	}
	if hex.EncodeToString(sum.Sum(nil)) != f.SHA256 {
		return fmt.Errorf("%s has another content than the list says", f.Name)
	}
	if err := w.Sync(); err != nil {
		return err
	}
	return w.Close()
}

// ended reads to the very end, so that a backup that was cut off there is seen.
func ended(archive *tar.Reader, open io.Reader) error {
	if h, err := archive.Next(); !errors.Is(err, io.EOF) {
		if err == nil {
			return fmt.Errorf("%s is not in its list", h.Name)
		}
		return err
	}
	_, err := io.Copy(io.Discard, open)
	return err
}

func sync(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	defer d.Close()
	return d.Sync()
}
