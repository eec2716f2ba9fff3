package backup

import (
	"archive/tar"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"os"

	"filippo.io/age"

	"crownassay/internal/ctxio"
)

// Progress is told how many bytes of all are done; nil for none.
type Progress func(step string, done, total int)

// Write writes a backup of the files named in the manifest, whose hashes it
// fills in while it goes: they are worked out first, and a file that changes
// meanwhile is an error.
func Write(ctx context.Context, w io.Writer, m *Manifest, tell Progress, to ...age.Recipient) error {
	m.Format = Format
	for i := range m.Files {
		if err := m.Files[i].measure(ctx); err != nil {
			return err
		}
		if err := m.Files[i].check(); err != nil {
			return err
		}
		tell.say("hashing", i+1, len(m.Files))
	}
	locked, err := age.Encrypt(w, to...)
	if err != nil {
		return fmt.Errorf("encrypt backup: %w", err)
	}
	archive := tar.NewWriter(locked)
	if err := m.write(ctx, archive, tell); err != nil {
		return err
	}
	for _, c := range []io.Closer{archive, locked} {
		if err := c.Close(); err != nil {
			return fmt.Errorf("write backup: %w", err)
		}
	}
	return nil
}

func (p Progress) say(step string, done, total int) {
	if p != nil {
		p(step, done, total)
	}
}

// measure works out a file's length and hash.
func (f *File) measure(ctx context.Context) error {
	r, err := os.Open(f.Path)
	if err != nil {
		return fmt.Errorf("read %s: %w", f.Name, err)
	}
	defer r.Close()
	sum := sha256.New()
	if f.Bytes, err = io.Copy(sum, ctxio.Reader(ctx, r)); err != nil {
		return fmt.Errorf("read %s: %w", f.Name, err)
	}
	f.SHA256 = hex.EncodeToString(sum.Sum(nil))
	return nil
}

func (m *Manifest) write(ctx context.Context, w *tar.Writer, tell Progress) error {
	list, err := json.MarshalIndent(m, "", " ")
	if err != nil {
		return err
	}
	if err := w.WriteHeader(&tar.Header{Name: manifestName, Mode: 0o600, Size: int64(len(list)), ModTime: m.Made}); err != nil {
		return err
	}
	if _, err := w.Write(list); err != nil {
		return fmt.Errorf("write backup: %w", err)
	}
	for i := range m.Files {
		if err := m.Files[i].write(ctx, w, m); err != nil {
			return err
		}
		tell.say("writing", i+1, len(m.Files))
	}
	return nil
}

func (f *File) write(ctx context.Context, w *tar.Writer, m *Manifest) error {
	r, err := os.Open(f.Path)
	if err != nil {
		return fmt.Errorf("read %s: %w", f.Name, err)
	}
	defer r.Close()
	if err := w.WriteHeader(&tar.Header{Name: f.Name, Mode: 0o600, Size: f.Bytes, ModTime: m.Made}); err != nil {
		return err
	}
	sum := sha256.New()
	if n, err := io.Copy(io.MultiWriter(w, sum), ctxio.Reader(ctx, r)); err != nil || n != f.Bytes {
		return fmt.Errorf("write %s: %d of %d bytes: %w", f.Name, n, f.Bytes, orChanged(err))
	}
	if hex.EncodeToString(sum.Sum(nil)) != f.SHA256 {
		return fmt.Errorf("write %s: %w", f.Name, errChanged)
	}
	return nil
}

var errChanged = fmt.Errorf("the file changed while it was copied; make the backup again")

func orChanged(err error) error {
	if err == nil {
		return errChanged
	}
	return err
}
