package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"filippo.io/age"
	"golang.org/x/term"

	"crownassay/backup"
	"crownassay/record"
	"crownassay/sqlite"
)

type backupCommand struct {
	benchFlags
	File           string   `arg:"" help:"File to write."`
	To             []string `placeholder:"KEY" help:"Public key (age1...) that can open the backup; may be given more than once."`
	NewKey         string   `placeholder:"FILE" help:"Make a new key, write it to this file and encrypt for it. Keep the file elsewhere than the backup."`
	PassphraseFile string   `placeholder:"FILE" help:"Encrypt with the passphrase in the first line of this file; without a key it is asked for."`
}

// leastPassphrase is how many characters a passphrase must have. The file may
// fall into strange hands and be tried against for years.
const leastPassphrase = 12

// Run writes a backup while the bench may be served, then restores it into an
// empty place and compares every hash before it counts as made.
func (c *backupCommand) Run(p *program) error {
	s, err := c.openStore(p.ctx)
	if err != nil {
		return err
	}
	return errors.Join(c.backUp(p, s), s.Close())
}

func (c *backupCommand) backUp(p *program, s *sqlite.Store) (err error) {
	to, check, err := c.keys(p)
	if err != nil {
		return err
	}
	defer func() {
		if err != nil && c.NewKey != "" {
			os.Remove(c.NewKey) // it opens nothing
		}
	}()
	parent := filepath.Dir(c.File)
	if info, err := os.Stat(parent); err != nil || !info.IsDir() {
		return fmt.Errorf("write %s: there is no folder %s; make it first, or choose another", c.File, parent)
	}
	work, err := os.MkdirTemp(parent, ".backup-*")
	if err != nil {
		return fmt.Errorf("write %s: %w; choose a folder that can be written", c.File, err)
	}
	defer os.RemoveAll(work)
	tell, end := newProgress(p.ctx, p.stderr)
	defer end()
	beside := filepath.Join(work, "backup")
	m, err := c.write(p.ctx, s, work, beside, tell, to)
	if err != nil {
		return err
	}
	seen, err := tryOut(p.ctx, beside, filepath.Join(work, "tried"), tell, check)
	if err != nil {
		return fmt.Errorf("the backup was written but could not be restored, so it is not kept: %w", err)
	}
	if err := os.Rename(beside, c.File); err != nil {
		return fmt.Errorf("write %s: %w", c.File, err)
	}
	if err := record.SyncFolder(parent); err != nil {
		return err
	}
	if c.NewKey != "" {
		fmt.Fprintf(p.stdout, "The key is in %s. Without it nobody can read the backup: keep it in another place. Its public key, for --to: %s\n", c.NewKey, to[len(to)-2])
	}
	_, err = fmt.Fprintf(p.stdout, "%s holds the bench as of %s: %s, restored on trial and found the same (%s).\n", c.File, m.Made.Format("2006-01-02 15:04 UTC"),
		count(len(m.Files), "file", "files"), checkedText(seen))
	return err
}

func checkedText(c sqlite.Checked) string {
	return fmt.Sprintf("%s, %s, %s, %s", count(c.Cases, "case", "cases"), count(c.Takes, "take", "takes"), count(c.Runs, "run", "runs"), count(c.Entries, "entry", "entries"))
}

// write takes the snapshot and writes the backup.
func (c *backupCommand) write(ctx context.Context, s *sqlite.Store, work, file string, tell backup.Progress, to []age.Recipient) (*backup.Manifest, error) {
	m := &backup.Manifest{Program: record.Version, Made: time.Now().UTC().Truncate(time.Second)}
	files, err := s.Snapshot(ctx, work)
	if err != nil {
		return nil, err
	}
	for _, f := range files {
		m.Files = append(m.Files, backup.File{Name: f.Name, Path: f.Path})
	}
	w, err := os.OpenFile(file, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return nil, err
	}
	defer w.Close()
	b := bufio.NewWriterSize(w, 1<<20)
	if err := backup.Write(ctx, b, m, tell, to...); err != nil {
		return nil, err
	}
	return m, errors.Join(b.Flush(), w.Sync(), w.Close())
}

// tryOut restores a backup and checks the store that comes out of it.
func tryOut(ctx context.Context, file, dir string, tell backup.Progress, key age.Identity) (seen sqlite.Checked, err error) {
	if _, err := restore(ctx, file, dir, tell, key); err != nil {
		return seen, err
	}
	return check(ctx, dir, tell)
}

func restore(ctx context.Context, file, dir string, tell backup.Progress, keys ...age.Identity) (*backup.Manifest, error) {
	r, err := os.Open(file)
	if err != nil {
		return nil, fmt.Errorf("open backup: %w", err)
	}
	defer r.Close()
	return backup.Restore(ctx, r, dir, tell, keys...)
}

// check reads a whole store.
func check(ctx context.Context, dir string, tell backup.Progress) (seen sqlite.Checked, err error) {
	s, err := sqlite.Open(ctx, dir, nil)
	if err != nil {
		return seen, err
	}
	seen, err = s.Check(ctx, tell)
	return seen, errors.Join(err, s.Close())
}

// keys are what the backup is encrypted for, and what can open it now: with
// public keys one of its own that is forgotten once the backup was tried.
func (c *backupCommand) keys(p *program) (to []age.Recipient, check age.Identity, err error) {
	if len(c.To) == 0 && c.NewKey == "" {
		return c.passphrase(p)
	}
	if c.PassphraseFile != "" {
		return nil, nil, errors.New("read --passphrase-file: a backup has either keys or a passphrase; leave one out")
	}
	for _, k := range c.To {
		r, err := age.ParseX25519Recipient(strings.TrimSpace(k))
		if err != nil {
			return nil, nil, fmt.Errorf("read --to %s: %w; give a public key that begins with age1", k, err)
		}
		to = append(to, r)
	}
	own, err := age.GenerateX25519Identity()
	if err != nil {
		return nil, nil, err
	}
	if c.NewKey != "" {
		made, err := newKey(c.NewKey)
		if err != nil {
			return nil, nil, err
		}
		to = append(to, made)
	}
	return append(to, own.Recipient()), own, nil
}

// newKey makes a key and writes it where nothing is.
func newKey(path string) (*age.X25519Recipient, error) {
	k, err := age.GenerateX25519Identity()
	if err != nil {
		return nil, err
	}
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return nil, fmt.Errorf("write key: %w; give a file that is not there yet", err)
	}
	defer f.Close()
	if _, err := fmt.Fprintf(f, "# public key: %s\n%s\n", k.Recipient(), k); err != nil {
		return nil, fmt.Errorf("write key %s: %w", path, err)
	}
	return k.Recipient(), errors.Join(f.Sync(), f.Close())
}

func (c *backupCommand) passphrase(p *program) ([]age.Recipient, age.Identity, error) {
	w, err := p.passphrase(c.PassphraseFile, true)
	if err != nil {
		return nil, nil, err
	}
	if len([]rune(w)) < leastPassphrase {
		return nil, nil, fmt.Errorf("the passphrase has %d characters: take at least %d, for example four words", len([]rune(w)), leastPassphrase)
	}
	to, err := age.NewScryptRecipient(w)
	if err != nil {
		return nil, nil, err
	}
	key, err := age.NewScryptIdentity(w)
	return []age.Recipient{to}, key, err
}

// passphrase reads one from a file, or asks for it on a terminal.
func (p *program) passphrase(file string, twice bool) (string, error) {
	if file != "" {
		f, err := os.Open(file)
		if err != nil {
			return "", fmt.Errorf("read passphrase: %w", err)
		}
		defer f.Close()
		line, err := bufio.NewReader(io.LimitReader(f, 1<<12)).ReadString('\n')
		if err != nil && !errors.Is(err, io.EOF) {
			return "", fmt.Errorf("read passphrase: %w", err)
		}
		return strings.TrimRight(line, "\r\n"), nil
	}
	in, ok := p.stdin.(*os.File)
	if !ok || !term.IsTerminal(int(in.Fd())) {
		return "", errors.New("a key or a passphrase is needed, and there is no terminal to ask on: give a key file or --passphrase-file FILE")
	}
	first, err := p.ask(in, "Passphrase: ")
	if err != nil || !twice {
		return first, err
	}
	second, err := p.ask(in, "Once more: ")
	if err == nil && first != second {
		err = errors.New("the two are not the same; try again")
	}
	return first, err
}

func (p *program) ask(in *os.File, what string) (string, error) {
	fmt.Fprint(p.stderr, what)
	b, err := term.ReadPassword(int(in.Fd()))
	fmt.Fprintln(p.stderr)
	return string(b), err
}

type restoreCommand struct {
	File           string   `arg:"" help:"Backup to read."`
	Dir            string   `arg:"" help:"New folder for the bench, to be given as --store."`
	Key            []string `placeholder:"FILE" help:"File with the key; may be given more than once."`
	PassphraseFile string   `placeholder:"FILE" help:"File whose first line is the passphrase; without a key it is asked for."`
}

// Run restores a backup into a new folder and checks all of it.
func (c *restoreCommand) Run(p *program) error {
	keys, err := c.keys(p)
	if err != nil {
		return err
	}
	tell, end := newProgress(p.ctx, p.stderr)
	defer end()
	m, err := restore(p.ctx, c.File, c.Dir, tell, keys...)
	if err != nil {
		return err
	}
	seen, err := check(p.ctx, c.Dir, tell)
	if err != nil {
		return fmt.Errorf("every file is as it was backed up, but the store is not right: %w", err)
	}
	_, err = fmt.Fprintf(p.stdout, "%s is the bench as of %s (%s), every hash as it was backed up. Serve it with: crownassay serve --store %s\n",
		c.Dir, m.Made.Format("2006-01-02 15:04 UTC"), checkedText(seen), c.Dir)
	return err
}

func (c *restoreCommand) keys(p *program) (keys []age.Identity, err error) {
	for _, name := range c.Key {
		f, err := os.Open(name)
		if err != nil {
			return nil, fmt.Errorf("read key: %w", err)
		}
		more, err := age.ParseIdentities(f)
		f.Close()
		if err != nil {
			return nil, fmt.Errorf("read key %s: %w; give the file that --new-key wrote", name, err)
		}
		keys = append(keys, more...)
	}
	if len(keys) > 0 && c.PassphraseFile == "" {
		return keys, nil
	}
	w, err := p.passphrase(c.PassphraseFile, false)
	if err != nil {
		return nil, err
	}
	k, err := age.NewScryptIdentity(w)
	if err != nil {
		return nil, err
	}
	return append(keys, k), nil
}
