package parcel

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"crownassay/assay"
	"crownassay/geom"
	"crownassay/internal/phantom"
	"crownassay/record"
	"crownassay/sqlite"
)

// sent is a parcel as another machine gets it, laid out from files by their
// hashes.
func sent(t *testing.T, p *Packed) *Packed {
	t.Helper()
	b, err := json.Marshal(p.Parcel)
	if err != nil {
		t.Fatal(err)
	}
	var got Parcel
	if err := json.Unmarshal(b, &got); err != nil {
		t.Fatal(err)
	}
	if a, b := keyOf(t, &p.Parcel), keyOf(t, &got); a != b {
		t.Errorf("the key is %s after sending, %s before", b, a)
	}
	out, err := got.Unpack(t.Context(), t.TempDir(), func(_ context.Context, sha, to string) error {
		b, err := os.ReadFile(p.Path(sha))
		if err != nil {
			return err
		}
		return os.WriteFile(to, b, 0o600)
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func keyOf(t *testing.T, p *Parcel) string {
	t.Helper()
	k, err := p.Key()
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func measured(t *testing.T, p *Packed) string {
	t.Helper()
	doc, err := p.Measure(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return string(doc)
}

// written is an invented case below a folder that has the practice's limits and
// luting rules.
func written(t *testing.T) (dir string) {
	t.Helper()
	c, err := phantom.Build(t.Context(), phantom.Spec{Seed: 1, Triangles: 8000})
	if err != nil {
		t.Fatal(err)
	}
	root := t.TempDir()
	dir = filepath.Join(root, "2026", "a")
	if err := c.Write(dir); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(root, "practice.yaml"), []byte("rows:\n  - {reading: preparation.clearance.occlusal, min: 1.1}\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(root, "luting.yaml"), []byte("rules:\n  - {name: height, off: true}\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	add(t, dir, "limits: ../../practice.yaml\nluting: ../../luting.yaml\ncement_space_um: 73\n")
	return dir
}

func add(t *testing.T, dir, lines string) {
	t.Helper()
	file := filepath.Join(dir, assay.CaseFile)
	b, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, append(b, lines...), 0o600); err != nil {
		t.Fatal(err)
	}
}

// TestFolderElsewhere: a case folder with files above it gives the same bytes
// elsewhere, with the scanner's check that was known here; its key changes with
// every input and with nothing else.
func TestFolderElsewhere(t *testing.T) {
	dir := written(t)
	checked := func(c *assay.Case) { c.ScannerUM, c.ScannerFrom = 17, "a check" }
	p, err := OfFolder(t.Context(), dir, checked)
	if err != nil {
		t.Fatal(err)
	}
	here := measured(t, p)
	if there := measured(t, sent(t, p)); there != here {
		t.Error("the document from elsewhere differs")
	}
	if !strings.Contains(here, `"scanner_uncertainty_um":17`) || !strings.Contains(here, "../../practice.yaml") {
		t.Error("the document does not have the scanner and the limits")
	}
	keys := map[string]string{"": keyOf(t, &p.Parcel)}
	if same, err := OfFolder(t.Context(), dir, checked); err != nil || keyOf(t, &same.Parcel) != keys[""] {
		t.Errorf("the same case has another key, %v", err)
	}
	changed := func(what string, scanner func(*assay.Case)) {
		t.Helper()
		p, err := OfFolder(t.Context(), dir, scanner)
		if err != nil {
			t.Fatal(err)
		}
		k := keyOf(t, &p.Parcel)
		for other, had := range keys {
			if k == had {
				t.Errorf("after changing %s the key is that after %q", what, other)
			}
		}
		keys[what] = k
	}
	changed("the scanner", nil)
	put := func(name, text string) {
		t.Helper()
		if err := os.WriteFile(filepath.Join(dir, filepath.FromSlash(name)), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	put("../../practice.yaml", "rows:\n  - {reading: preparation.clearance.occlusal, min: 1.2}\n")
	changed("the limits", nil)
	put("opposing.stl", "another")
	changed("a scan", nil)
	add(t, dir, "mesial: [1, 0, 0]\n")
	changed("the description", nil)
}

// TestStoreElsewhere: the same of a case of a store, with a line drawn on it.
func TestStoreElsewhere(t *testing.T) {
	dir, ctx := written(t), t.Context()
	s, err := sqlite.Open(ctx, t.TempDir(), nil)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	um := 70.0
	k, err := s.AddCase(ctx, record.Kept{Tooth: "46", Numbering: "iso3950", Material: "zirconia-3y", Unit: "mm", CementUM: &um, Patient: "P-17", Title: "secret"})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := OfStore(ctx, s, k.ID, nil); err == nil || !strings.Contains(err.Error(), "no take is confirmed") {
		t.Errorf("a case without scans: %v", err)
	}
	for _, role := range []string{"prepared", "opposing"} {
		f, err := os.Open(filepath.Join(dir, role+".stl"))
		if err != nil {
			t.Fatal(err)
		}
		b, err := s.PutMesh(ctx, f, 1<<30)
		f.Close()
		if err != nil {
			t.Fatal(err)
		}
		if _, err := s.AddTake(ctx, record.Take{Case: k.ID, Role: role, Confirmed: true, File: role + ".stl", SHA256: b.SHA256, Bytes: b.Bytes}); err != nil {
			t.Fatal(err)
		}
	}
	p, err := OfStore(ctx, s, k.ID, nil)
	if err != nil {
		t.Fatal(err)
	}
	first := keyOf(t, &p.Parcel)
	here := measured(t, p)
	if there := measured(t, sent(t, p)); there != here {
		t.Error("the document from elsewhere differs")
	}
	if b, err := json.Marshal(p.Parcel); err != nil || strings.Contains(string(b), "P-17") || strings.Contains(string(b), "secret") {
		t.Error("the patient's code or the title is sent")
	}
	d, err := record.ReadDocument([]byte(here))
	if err != nil {
		t.Fatal(err)
	}
	line := record.Drawn{Case: k.ID}
	for _, q := range d.FinishLine {
		line.Points = append(line.Points, geom.V(q[0], q[1], q[2]))
	}
	if _, err := s.AddLine(ctx, line); err != nil {
		t.Fatal(err)
	}
	if p, err = OfStore(ctx, s, k.ID, nil); err != nil || keyOf(t, &p.Parcel) == first {
		t.Errorf("with a line drawn on it the key is the same, %v", err)
	}
	if there := measured(t, sent(t, p)); there != measured(t, p) {
		t.Error("with a line drawn on it the document from elsewhere differs")
	}
}

// TestProblemsReadAlike: what is wrong is said in the same words here and
// elsewhere, and what cannot be sent is said before.
func TestProblemsReadAlike(t *testing.T) {
	dir := written(t)
	if err := os.WriteFile(filepath.Join(dir, "prepared.stl"), []byte("no mesh"), 0o600); err != nil {
		t.Fatal(err)
	}
	p, err := OfFolder(t.Context(), dir, nil)
	if err != nil {
		t.Fatal(err)
	}
	_, here := p.Measure(t.Context())
	_, there := sent(t, p).Measure(t.Context())
	if here == nil || there == nil || here.Error() != there.Error() || !strings.HasPrefix(here.Error(), "read prepared.stl: ") {
		t.Errorf("here %v\nthere %v", here, there)
	}
	p.Files = append(p.Files, File{"", "/etc/practice.yaml", p.Files[0].SHA256})
	if err := p.Sendable(); err == nil || !strings.Contains(err.Error(), "whole path") {
		t.Errorf("a file by its whole path: %v", err)
	}
}
