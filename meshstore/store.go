package meshstore

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"crownassay/internal/ctxio"
)

// ErrNotFound says that the store has nothing under a hash.
var ErrNotFound = errors.New("not in the store of meshes")

// Store keeps files by their hashes, hexadecimal SHA-256. Methods may be called
// from any goroutine and any machine.
type Store interface {
	// Put keeps the content of a file, unless it is there already. A file that does
	// not have that hash is an error, and nothing is kept.
	Put(ctx context.Context, sha, from string) error
	// Get writes the content of a hash to a path, whole or not at all. What the
	// store has is an error where it is not of that hash, and ErrNotFound where
	// there is nothing.
	Get(ctx context.Context, sha, to string) error
}

// Open opens a store by its address: s3://BUCKET/PREFIX, or a folder, which is
// made where it is not there.
func Open(ctx context.Context, address string) (Store, error) {
	if rest, ok := strings.CutPrefix(address, "s3://"); ok {
		return openBucket(ctx, rest, os.Getenv)
	}
	if strings.Contains(address, "://") {
		return nil, fmt.Errorf("open the store of meshes %s: give s3://BUCKET/PREFIX or a folder", strings.SplitN(address, "://", 2)[0])
	}
	if err := os.MkdirAll(address, 0o755); err != nil {
		return nil, fmt.Errorf("open the store of meshes: %w; choose a folder that can be written", err)
	}
	return folder(address), nil
}

// checked refuses what is no hash, since it becomes a name.
func checked(sha string) error {
	if b, err := hex.DecodeString(sha); err != nil || len(b) != sha256.Size || strings.ToLower(sha) != sha {
		return fmt.Errorf("%q is no SHA-256 in hexadecimal", sha)
	}
	return nil
}

// name is where the content of a hash lies, in folders of a few thousand.
func name(sha string) string { return sha[:2] + "/" + sha }

// copied copies to a new file beside a path, holds it to the hash and moves it
// there.
func copied(ctx context.Context, r io.Reader, sha, to string) (err error) {
	f, err := os.CreateTemp(filepath.Dir(to), ".new-*")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			f.Close()
			os.Remove(f.Name())
		}
	}()
	sum := sha256.New()
	if _, err = io.Copy(io.MultiWriter(f, sum), ctxio.Reader(ctx, r)); err != nil {
		return err
	}
	if got := hex.EncodeToString(sum.Sum(nil)); got != sha {
		return fmt.Errorf("the content has the hash %s, not %s: it was changed or damaged", got[:12], sha[:12])
	}
	if err = errors.Join(f.Sync(), f.Chmod(0o644), f.Close()); err != nil {
		return err
	}
	return os.Rename(f.Name(), to)
}
