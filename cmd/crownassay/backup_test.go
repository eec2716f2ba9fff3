package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"crownassay/record"
	"crownassay/sqlite"
)

// busy is a bench's store with a case, being written to until end is called.
func busy(t *testing.T, dir string) (accepted func() []string, end func()) {
	t.Helper()
	ctx := context.Background()
	s, err := sqlite.Open(ctx, dir, nil)
	if err != nil {
		t.Fatal(err)
	}
	k, err := s.AddCase(ctx, record.Kept{Tooth: "46", Numbering: "iso3950", Material: "zirconia-3y", Unit: "mm", Patient: "P-7"})
	if err != nil {
		t.Fatal(err)
	}
	said, stop, done := make(chan string, 1<<16), make(chan struct{}), make(chan struct{})
	write := func(i int) {
		b, err := s.PutMesh(ctx, strings.NewReader(fmt.Sprint("mesh ", i)), 1<<20)
		if err != nil {
			t.Error(err)
			return
		}
		x, err := s.AddTake(ctx, record.Take{Case: k.ID, Role: "prepared", File: "p.stl", SHA256: b.SHA256, Bytes: b.Bytes, Confirmed: true})
		if err == nil {
			doc := fmt.Appendf(nil, `{"format":"crownassay/1","surfaces":[{"role":"prepared","file":"p.stl","sha256":%q}]}`, b.SHA256)
			_, err = s.AddRun(ctx, record.Run{Case: k.ID, Takes: []int64{x.ID}, Document: doc})
		}
		if err != nil {
			t.Error(err)
			return
		}
		said <- b.SHA256
	}
	for i := range 10 {
		write(i)
	}
	go func() {
		defer close(done)
		for i := 10; ; i++ {
			select {
			case <-stop:
				return
			default:
				write(i)
			}
		}
	}()
	var all []string
	return func() []string {
			for {
				select {
				case sum := <-said:
					all = append(all, sum)
				default:
					return all
				}
			}
		}, func() {
			close(stop)
			<-done
			s.Close()
		}
}

// TestBackupWhileServed: what was accepted before the backup began is in it.
func TestBackupWhileServed(t *testing.T) {
	dir := t.TempDir()
	store, file, key := filepath.Join(dir, "bench"), filepath.Join(dir, "b.age"), filepath.Join(dir, "key")
	accepted, end := busy(t, store)
	before := accepted()
	status, out, errs := call(t, "backup", file, "--store", store, "--new-key", key)
	end()
	if status != 0 || !strings.Contains(out, "restored on trial and found the same (1 case, ") {
		t.Fatal(status, out, errs)
	}
	after := accepted()
	if len(before) < 10 || len(after) <= len(before) {
		t.Errorf("%d accepted before and %d after: nothing was written meanwhile", len(before), len(after))
	}
	to := filepath.Join(dir, "restored")
	if status, out, errs := call(t, "restore", file, to, "--key", key); status != 0 || !strings.Contains(out, "every hash as it was backed up") {
		t.Fatal(status, out, errs)
	}
	s, err := sqlite.Open(context.Background(), to, nil)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	takes, err := s.Takes(context.Background(), 1)
	if err != nil {
		t.Fatal(err)
	}
	there := map[string]bool{}
	for _, x := range takes {
		there[x.SHA256] = true
	}
	for _, sum := range before {
		if !there[sum] {
			t.Errorf("%s was accepted before the backup began and is not in it", sum)
		}
		a, err1 := os.ReadFile(filepath.Join(store, "meshes", sum))
		b, err2 := os.ReadFile(filepath.Join(to, "meshes", sum))
		if err1 != nil || err2 != nil || !bytes.Equal(a, b) {
			t.Errorf("%s came back otherwise: %v, %v", sum, err1, err2)
		}
	}
	if left, _ := filepath.Glob(filepath.Join(dir, ".*")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

// TestBackupRefusals says what is wrong and what to do.
func TestBackupRefusals(t *testing.T) {
	dir := t.TempDir()
	at := func(name string) string { return filepath.Join(dir, name) }
	_, end := busy(t, at("bench"))
	end()
	for name, text := range map[string]string{"word": "four words of one's own\n", "other": "four words of another\n", "short": "short\n", "nokey": "nothing\n"} {
		if err := os.WriteFile(at(name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if s, _, errs := call(t, "backup", at("b.age"), "--store", at("bench"), "--passphrase-file", at("word")); s != 0 {
		t.Fatal(errs)
	}
	b, err := os.ReadFile(at("b.age"))
	if err != nil {
		t.Fatal(err)
	}
	b[len(b)/2] ^= 1
	if err := os.WriteFile(at("bad.age"), b, 0o600); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"restore", at("b.age"), at("r"), "--passphrase-file", at("other")}, "the key does not open this backup; give the one that it was made for"},
		{[]string{"restore", at("bad.age"), at("r"), "--passphrase-file", at("word")}, "the backup is damaged: it was changed or cut off; take another copy"},
		{[]string{"restore", at("word"), at("r"), "--passphrase-file", at("word")}, "this is no backup file"},
		{[]string{"restore", at("none"), at("r"), "--passphrase-file", at("word")}, "no such file"},
		{[]string{"restore", at("b.age"), at("bench"), "--passphrase-file", at("word")}, "the folder is not empty; give a new one"},
		{[]string{"restore", at("b.age"), at("r"), "--key", at("nokey")}, "give the file that --new-key wrote"},
		{[]string{"restore", at("b.age"), at("r")}, "there is no terminal to ask on"},
		{[]string{"backup", at("c.age"), "--store", at("bench"), "--passphrase-file", at("short")}, "the passphrase has 5 characters: take at least 12"},
		{[]string{"backup", at("c.age"), "--store", at("bench"), "--to", "age1x"}, "give a public key that begins with age1"},
		{[]string{"backup", at("c.age"), "--store", at("none")}, "there is no bench"},
		{[]string{"backup", at("x/c.age"), "--store", at("bench"), "--passphrase-file", at("word")}, "make it first"},
	} {
		if s, _, errs := call(t, c.args...); s != 2 || !strings.Contains(errs, c.want) {
			t.Errorf("%v = %d, %s; want %q", c.args[:1], s, errs, c.want)
		}
		if _, err := os.Stat(at("r")); err == nil {
			t.Fatalf("%v left a folder", c.args)
		}
	}
	if s, out, errs := call(t, "restore", at("b.age"), at("r"), "--passphrase-file", at("word")); s != 0 {
		t.Error(out, errs)
	}
}
