package record

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"crownassay/internal/golden"
	"crownassay/reading"
)

// ticking is a clock that moves on by a second at each look.
func ticking() func() time.Time {
	t := time.Date(2026, 3, 1, 9, 0, 0, 123456789, time.UTC)
	return func() time.Time { t = t.Add(time.Second); return t }
}

// RFC 8785, section 3.2.2 (sample input) and 3.2.4 (the bytes of its canonical
// form), shortened to the first of its properties.
func TestCanonicalFormOfTheRFC(t *testing.T) {
	in := json.RawMessage(`{"numbers":[333333333.33333329,1E30,4.50,2e-3,0.000000000000000000000000001],"string":"\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/","literals":[null,true,false]}`)
	want := `{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],"string":"€$\u000f\nA'B\"\\\\\"/"}`
	if got, err := canonical(in); err != nil || string(got) != want {
		t.Errorf("canonical = %s, %v\nwant %s", got, err, want)
	}
}

// filled is a folder with a case's files and a record of each kind of entry.
func filled(t *testing.T) *Folder {
	t.Helper()
	ctx, f := context.Background(), OpenFolder(t.TempDir(), ticking())
	if err := os.WriteFile(filepath.Join(f.dir, "prepared.stl"), []byte("solid"), 0o644); err != nil {
		t.Fatal(err)
	}
	r := sample(t)
	r.Surfaces = []Surface{{"prepared", "prepared.stl", Hash([]byte("solid")), 1, "mm"}}
	r.Readings = r.Readings[:2] // a small record: every byte of it is tried
	for i := range r.Readings {
		r.Readings[i].Profile = nil
	}
	var doc bytes.Buffer
	if err := r.WriteJSON(&doc); err != nil {
		t.Fatal(err)
	}
	if _, err := f.AddRun(ctx, doc.Bytes(), "AB"); err != nil {
		t.Fatal(err)
	}
	d, err := ReadDocument(doc.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	add := func(e Entry, err error) {
		t.Helper()
		if err == nil {
			_, err = f.Append(ctx, e)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	stand := func() Standing {
		all, err := Entries(ctx, f)
		if err != nil {
			t.Fatal(err)
		}
		return Stand(all)
	}
	today := time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)
	add(Lot("block", "(01)09506000134352(17)270228(10)ABC123", "AB", today))
	add(Lot("cement", "LOT 77", "CD", today))
	s := stand()
	add(s.Override(d, "preparation.clearance.occlusal", reading.Conforms, "AB", "the opposing cusp is shortened"))
	s = stand()
	add(s.Confirm(d, reading.Preparation, "AB", ""))
	add(Correct([]Sealed{{}, {}, {}}, 3, "CD", "wrong tube"))
	return f
}

func TestRecordReadsAsWritten(t *testing.T) {
	f := filled(t)
	all, err := Entries(context.Background(), f)
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	for _, e := range all {
		fmt.Fprintf(&b, "%s %s\n", e.Hash[:12], e.Bytes)
	}
	golden.Equal(t, "entries.txt", b.String())
	v, err := Verify(context.Background(), f)
	if err != nil || v.Entries != 6 || v.Runs != 1 || v.Surfaces != 1 || v.Head != all[5].Hash {
		t.Errorf("Verify = %+v, %v", v, err)
	}
	s := Stand(all)
	if c := s.Confirmations[reading.Preparation]; c == nil || c.Confirmation.Overridden != 1 || c.Confirmation.Fails != 1 || c.Confirmation.Run != 1 {
		t.Errorf("confirmation = %+v", c)
	}
	if len(s.Lots) != 1 || s.Lots[0].Lot.Lot != "ABC123" || s.Lots[0].Lot.Expires != "2027-02-28" || s.Lots[0].Lot.Product != "09506000134352" {
		t.Errorf("lots = %+v: the corrected one must be out", s.Lots)
	}
}

// TestAnyBitIsSeen flips a bit of every byte that the record is kept in, one
// after the other, all eight in turn, and takes each byte out.
func TestAnyBitIsSeen(t *testing.T) {
	ctx, f := context.Background(), filled(t)
	files, err := filepath.Glob(filepath.Join(f.dir, BookFolder, "*"))
	if err != nil || len(files) != 7 {
		t.Fatal(files, err)
	}
	flips, step := 0, 1
	if testing.Short() {
		step = 7
	}
	for _, name := range files {
		was, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for i := 0; i < len(was); i += step {
			now := bytes.Clone(was)
			now[i] ^= 1 << (i % 8)
			seen(ctx, t, f, name, now, i)
			if i%7 == 0 {
				seen(ctx, t, f, name, append(bytes.Clone(was[:i]), was[i+1:]...), i)
			}
			flips++
		}
		seen(ctx, t, f, name, append(bytes.Clone(was), ' '), len(was))
		if err := os.WriteFile(name, was, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := Verify(ctx, f); err != nil || flips < 2500/step {
		t.Errorf("put back: %v after %d flips", err, flips)
	}
}

func seen(ctx context.Context, t *testing.T, f *Folder, name string, b []byte, at int) {
	t.Helper()
	if err := os.WriteFile(name, b, 0o644); err != nil {
		t.Fatal(err)
	}
	_, err := Verify(ctx, f)
	var fault *Fault
	if !errors.As(err, &fault) {
		t.Fatalf("%s, byte %d changed: Verify says %v, want a fault", filepath.Base(name), at, err)
	}
	var n int64
	if _, err := fmt.Sscanf(filepath.Base(name), "%d.json", &n); err == nil && len(filepath.Base(name)) == 9 && fault.Number != n {
		t.Fatalf("%s, byte %d changed: %v, want entry %d named", filepath.Base(name), at, fault, n)
	}
}

// TestEntriesTakenOutOrSwapped does what a person could do with the files.
func TestEntriesTakenOutOrSwapped(t *testing.T) {
	ctx := context.Background()
	for name, c := range map[string]struct {
		do   func(at func(int64) string) error
		want int64
	}{
		"one taken out": {func(at func(int64) string) error { return os.Remove(at(3)) }, 3},
		"two swapped": {func(at func(int64) string) error {
			return errors.Join(os.Rename(at(2), at(9)), os.Rename(at(3), at(2)), os.Rename(at(9), at(3)))
		}, 2},
		"one twice": {func(at func(int64) string) error {
			b, err := os.ReadFile(at(2))
			return errors.Join(err, os.WriteFile(at(3), b, 0o644))
		}, 3},
		"one written anew, with its own hash": {func(at func(int64) string) error {
			b, err := os.ReadFile(at(3))
			if err != nil {
				return err
			}
			r, err := openPage(b)
			if err != nil {
				return err
			}
			e := bytes.Replace(r.Bytes, []byte("LOT 77"), []byte("LOT 78"), 1)
			if b, err = writtenPage(e, Hash(e)); err != nil {
				return err
			}
			return os.WriteFile(at(3), b, 0o644)
		}, 4}, // the next one names what stood there
	} {
		f := filled(t)
		if err := c.do(func(n int64) string { return f.file(pageName(n)) }); err != nil {
			t.Fatal(err)
		}
		_, err := Verify(ctx, f)
		var fault *Fault
		if !errors.As(err, &fault) || fault.Number != c.want {
			t.Errorf("%s: %v, want a fault of entry %d", name, err, c.want)
		}
		if _, err := f.Append(ctx, Entry{}); err == nil {
			t.Errorf("%s: an entry was added all the same", name)
		}
	}
}

func TestWhatIsRefused(t *testing.T) {
	f := filled(t)
	all, err := Entries(context.Background(), f)
	if err != nil {
		t.Fatal(err)
	}
	s, today := Stand(all), time.Now()
	doc, _, err := f.Document(context.Background(), s.Run.Run)
	if err != nil {
		t.Fatal(err)
	}
	d, err := ReadDocument(doc)
	if err != nil {
		t.Fatal(err)
	}
	for want, make := range map[string]func() (Entry, error){
		"say who":                    func() (Entry, error) { return Lot("block", "7", "", today) },
		"neither a lot nor a serial": func() (Entry, error) { return Lot("block", " ", "AB", today) },
		"block, tool, cement":        func() (Entry, error) { return Lot("drill", "7", "AB", today) },
		"check digit":                func() (Entry, error) { return Lot("tool", "(01)09506000134353(10)1", "AB", today) },
		"no such reading":            func() (Entry, error) { return s.Override(d, "crown.x", reading.Conforms, "AB", "x") },
		"the reason is missing":      func() (Entry, error) { return s.Override(d, "finish_line.legible", reading.Conforms, "AB", " ") },
		"says conforms already": func() (Entry, error) {
			return s.Override(d, "preparation.clearance.occlusal", reading.Conforms, "AB", "x")
		},
		"by conforms or fails, not by":         func() (Entry, error) { return s.Override(d, "finish_line.legible", reading.Informs, "AB", "x") },
		"has no reading of this hold point":    func() (Entry, error) { return s.Confirm(d, reading.TryIn, "AB", "") },
		"unknown hold point":                   func() (Entry, error) { return s.Confirm(d, "lunch", "AB", "") },
		"the record has entries 1 to 6":        func() (Entry, error) { return Correct(all, 7, "AB", "x") },
		"entry 6 has corrected it already":     func() (Entry, error) { return Correct(all, 3, "AB", "x") },
		"the record has no run yet":            func() (Entry, error) { return (&Standing{}).Confirm(d, reading.Design, "AB", "") },
		"longer than 40 bytes: give initials":  func() (Entry, error) { return Lot("block", "7", strings.Repeat("A", 41), today) },
		"the remark has 2001 bytes, more than": func() (Entry, error) { return s.Confirm(d, reading.Preparation, "AB", strings.Repeat("A", 2001)) },
	} {
		e, err := make()
		if err == nil {
			_, err = f.Append(context.Background(), e)
		}
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want an error with %q", err, want)
		}
	}
	if v, err := Verify(context.Background(), f); err != nil || v.Entries != 6 {
		t.Errorf("after refusals: %+v, %v", v, err)
	}
}

// TestCorrectedCorrection: what a correction took back holds again once the
// correction is taken back.
func TestCorrectedCorrection(t *testing.T) {
	ctx, f := context.Background(), filled(t)
	all, _ := Entries(ctx, f)
	e, err := Correct(all, 6, "AB", "it was the right tube")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.Append(ctx, e); err != nil {
		t.Fatal(err)
	}
	all, _ = Entries(ctx, f)
	if s := Stand(all); len(s.Lots) != 2 || s.Corrected[6] != 7 || s.Corrected[3] != 0 {
		t.Errorf("lots %v, corrected %v; want both lots", s.Lots, s.Corrected)
	}
}

// TestReplacedFileIsNoted: a folder's files are its owner's.
func TestReplacedFileIsNoted(t *testing.T) {
	f := filled(t)
	if err := os.WriteFile(filepath.Join(f.dir, "prepared.stl"), []byte("another"), 0o644); err != nil {
		t.Fatal(err)
	}
	v, err := Verify(context.Background(), f)
	if err != nil || len(v.Notes) != 1 || !strings.Contains(v.Notes[0], "prepared.stl is not the file that was measured any more") {
		t.Errorf("Verify = %+v, %v; want a note", v, err)
	}
}

// TestTwoWriters: of two that take the same number only one gets it.
func TestTwoWriters(t *testing.T) {
	f := filled(t)
	e, err := Lot("tool", "7", "AB", time.Now())
	if err != nil {
		t.Fatal(err)
	}
	const writers = 6
	errs := make(chan error, writers)
	for range writers {
		go func() {
			_, err := OpenFolder(f.dir, nil).Append(context.Background(), e)
			errs <- err
		}()
	}
	kept := 0
	for range writers {
		if err := <-errs; err == nil {
			kept++
		} else if !strings.Contains(err.Error(), "another program has just added entry") {
			t.Error(err)
		}
	}
	if v, err := Verify(context.Background(), f); err != nil || v.Entries != 6+kept || kept == 0 {
		t.Errorf("%d were kept; Verify = %+v, %v", kept, v, err)
	}
}
