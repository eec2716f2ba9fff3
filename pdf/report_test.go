package pdf

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"crownassay/reading"
	"crownassay/record"
)

// sample is a report of the record's own sample document with drawn figures
// that stand for pictures.
func sample(t *testing.T, paper Paper) *Report {
	t.Helper()
	b, err := os.ReadFile("../record/testdata/known.json")
	if err != nil {
		t.Fatal(err)
	}
	d, err := record.ReadDocument(b)
	if err != nil {
		t.Fatal(err)
	}
	at := time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC)
	run := record.Sealed{Entry: record.Entry{Number: 1, Kind: record.KindRun, Who: "AB", At: at, Run: &record.RunEntry{}}, Hash: strings.Repeat("ab", 32)}
	lot := record.Sealed{Entry: record.Entry{Number: 2, Kind: record.KindLot, Who: "AB", At: at, Lot: &record.LotEntry{Thing: "block", Lot: "A7"}}, Hash: strings.Repeat("cd", 32)}
	over := record.Sealed{Entry: record.Entry{Number: 3, Kind: record.KindOverride, Who: "CD", At: at,
		Override: &record.Overridden{Reading: "finish_line.legible", Run: 1, From: reading.Fails, To: reading.Conforms, Reason: "seen in the mouth"}}, Hash: strings.Repeat("ef", 32)}
	q := d.Reading("preparation.clearance.occlusal")
	return &Report{Document: d, Patient: "P-7", Title: "first visit", Entries: []record.Sealed{run, lot, over}, Kept: &run, Paper: paper,
		Overview: []Picture{picture(t, "From above."), picture(t, "From its side.")},
		Findings: []Finding{{q, ptr(picture(t, "From the lingual.")), slice()}}}
}

func ptr[T any](x T) *T { return &x }

func picture(t *testing.T, says string) Picture {
	t.Helper()
	m := image.NewRGBA(image.Rect(0, 0, 60, 40))
	for i := range 60 * 40 {
		m.SetRGBA(i%60, i/60, color.RGBA{uint8(i % 60 * 4), uint8(5 * len(says)), 100, 255})
	}
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		t.Fatal(err)
	}
	return Picture{PNG: b.Bytes(), Width: 60, Height: 40, Says: says, Ring: &[2]float64{0.5, 0.5}, Letters: []Label{{[2]float64{0.1, 0.5}, "M"}},
		Scale: &Scale{0, 2.5, "mm", []float64{1}, "distance to the opposing teeth"}}
}

func slice() *Slice {
	c := &Slice{Says: "Section at azimuth 230.", Mark: &[2]float64{0, 0}, Other: &[2]float64{0, 0.62}, Value: "0.62 mm", Half: 2}
	for _, role := range roles {
		c.Lines = append(c.Lines, SliceLine{role, false, [][2]float64{{-1, 0}, {0, 0.1}, {1, 0}}})
	}
	return c
}

func written(t *testing.T, r *Report, patient bool) []byte {
	t.Helper()
	var b bytes.Buffer
	write := r.Write
	if patient {
		write = r.WritePatient
	}
	if err := write(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// TestSameBytes: two reports of the same are the same, at any time.
func TestSameBytes(t *testing.T) {
	for _, paper := range []Paper{A4, Letter} {
		for _, patient := range []bool{false, true} {
			a := written(t, sample(t, paper), patient)
			time.Sleep(1100 * time.Millisecond) // dates in a PDF have seconds
			for range 20 {                      // as an order that is left to chance would show
				if b := written(t, sample(t, paper), patient); !bytes.Equal(a, b) {
					t.Fatalf("%s, patient %t: two reports of the same differ", paper, patient)
				}
			}
			if !bytes.Contains(a, []byte("(D:20260301090000")) {
				t.Errorf("%s, patient %t: the date is not that of the record", paper, patient)
			}
		}
	}
}

// extracted is the text of a PDF as an independent program reads it, or, where
// it is not installed, as the reader of these tests does.
func extracted(t *testing.T, b []byte) string {
	t.Helper()
	tool, err := exec.LookPath("pdftotext")
	if err != nil {
		t.Log("there is no pdftotext (Debian: poppler-utils): read by the tests' own reader")
		return readText(t, b)
	}
	path := filepath.Join(t.TempDir(), "report.pdf")
	if err := os.WriteFile(path, b, 0o644); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(tool, "-raw", path, "-").CombinedOutput() // -raw: in the order of the file
	if err != nil {
		t.Fatalf("pdftotext: %v\n%s", err, out)
	}
	return string(out)
}

// inOrder looks for texts one after the other.
func inOrder(t *testing.T, text string, want []string) {
	t.Helper()
	rest := text
	for _, w := range want {
		i := strings.Index(rest, w)
		if i < 0 {
			t.Fatalf("%q does not follow where it should in:\n%s", w, text)
		}
		rest = rest[i+len(w):]
	}
}

// TestTextIsReadInOrder: the parts of the report follow one another, and so do
// the readings of the ledger with their values and limits.
func TestTextIsReadInOrder(t *testing.T) {
	r := sample(t, A4)
	text := extracted(t, written(t, r, false))
	inOrder(t, text, []string{"Lower right first molar", "patient P-7", "Measured 2026-03-01 09:00 UTC, entry 1", "What to do next", "Distolingual occlusal",
		"What was measured", "Findings", "Occlusal clearance", "Ledger: preparation", "Where the limits come from", "The record of this case",
		"Block: lot A7", strings.Repeat("ef", 32), "Caution", "A measuring aid for licensed practitioners."})
	want := []string{"Ledger: preparation"}
	for i := range r.Document.Readings {
		q := &r.Document.Readings[i]
		want = append(want, string(q.Verdict), q.Name)
		if q.Value != nil {
			want = append(want, q.ValueText())
		}
		want = append(want, q.LimitText()) // nothing where there is none
		if q.Value == nil {
			want = want[:len(want)-1]
		}
		if q.ID == "finish_line.legible" {
			want = append(want, "CD judges otherwise", "seen in the mouth")
		}
	}
	inOrder(t, text, append(want, "Values are given with their expanded uncertainty"))
}

// TestRuleIsTold: a report says by which rule values were compared with limits
// where that is not the guard band.
func TestRuleIsTold(t *testing.T) {
	r := sample(t, A4)
	if text := extracted(t, written(t, r, false)); strings.Contains(text, "without a guard band") {
		t.Error("told without need")
	}
	r.Document.Settings.Rule = "simple"
	inOrder(t, extracted(t, written(t, r, false)), []string{"What was measured", "without a guard band", "Findings"})
}

// TestFoundIsTold: the record's part says what was found at try-in and later.
func TestFoundIsTold(t *testing.T) {
	r := sample(t, A4)
	at := time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC)
	bleeds := true
	r.Entries = append(r.Entries,
		record.Sealed{Entry: record.Entry{Number: 4, Kind: record.KindTryIn, Who: "AB", At: at, TryIn: &record.TryInEntry{Date: "2026-03-01",
			Contacts: []record.ContactFound{{Side: "mesial", Felt: record.FeltHeavy}}, Seating: "full"}}, Hash: strings.Repeat("ab", 32)},
		record.Sealed{Entry: record.Entry{Number: 5, Kind: record.KindRecall, Who: "CD", At: at, Recall: &record.RecallEntry{Date: "2027-03-01", Bleeding: &bleeds,
			Contacts: []record.ContactNow{}, Remark: "Brushes well."}}, Hash: strings.Repeat("aa", 32)})
	inOrder(t, extracted(t, written(t, r, false)), []string{"The record of this case", "Try-in 2026-03-01, mesial contact heavy, seating full, kept by AB",
		"Recall 2027-03-01, bleeds on probing: Brushes well, kept by CD", "Caution"})
}

// TestLutingIsTold: the record's part says how the crown is fixed.
func TestLutingIsTold(t *testing.T) {
	r := sample(t, A4)
	r.Entries = append(r.Entries, record.Sealed{Entry: record.Entry{Number: 4, Kind: record.KindLuting, Who: "AB", At: time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC),
		Luting: &record.LutingEntry{Date: "2026-03-01", Family: "zinc-phosphate", Isolation: "rubber-dam"}}, Hash: strings.Repeat("aa", 32)})
	inOrder(t, extracted(t, written(t, r, false)), []string{"The record of this case", "Block: lot A7", "Luting 2026-03-01: zinc-phosphate, isolation rubber-dam, kept by AB", "Caution"})
}

// TestPatientSheet: one page, no word of a verdict.
func TestPatientSheet(t *testing.T) {
	for _, paper := range []Paper{A4, Letter} {
		b := written(t, sample(t, paper), true)
		text := extracted(t, b)
		inOrder(t, text, []string{"Your new crown", "lower right first molar", "1 March 2026", "Room for the crown", "second look", "Hold", "Good to know", "page 1 of 1"})
		for _, word := range []string{"fail", "undecided", "conform", "unmeasured", "verdict", "±", "limit", "uncertain"} {
			if strings.Contains(strings.ToLower(text), word) {
				t.Errorf("%s: the patient reads %q:\n%s", paper, word, text)
			}
		}
	}
}

// TestFontsAreEmbedded asks an independent program.
func TestFontsAreEmbedded(t *testing.T) {
	tool, err := exec.LookPath("pdffonts")
	if err != nil {
		t.Skip("there is no pdffonts (Debian: poppler-utils)")
	}
	path := filepath.Join(t.TempDir(), "report.pdf")
	if err := os.WriteFile(path, written(t, sample(t, A4), false), 0o644); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(tool, path).CombinedOutput()
	rows := strings.Split(strings.TrimSpace(string(out)), "\n")
	if err != nil || len(rows) < 4 {
		t.Fatalf("%v\n%s", err, out)
	}
	for _, row := range rows[2:] {
		if f := strings.Fields(row); !strings.Contains(row, "Identity-H") || f[len(f)-5] != "yes" || f[len(f)-3] != "yes" {
			t.Errorf("a font is not embedded, or has no table of characters: %s", row)
		}
	}
}

// TestNothingRunsOffThePage measures every text against the paper: pdftotext
// gives the box of each word.
func TestNothingRunsOffThePage(t *testing.T) {
	tool, err := exec.LookPath("pdftotext")
	if err != nil {
		t.Skip("there is no pdftotext (Debian: poppler-utils)")
	}
	for paper, size := range map[Paper][2]float64{A4: {595.28, 841.89}, Letter: {612, 792}} {
		path := filepath.Join(t.TempDir(), "report.pdf")
		if err := os.WriteFile(path, written(t, sample(t, paper), false), 0o644); err != nil {
			t.Fatal(err)
		}
		out, err := exec.Command(tool, "-bbox", path, "-").Output()
		if err != nil {
			t.Fatal(err)
		}
		words := 0
		for _, row := range strings.Split(string(out), "\n") {
			box, ok := boxOf(row)
			if !ok {
				continue
			}
			words++
			edge := (margin - 1) / pointMM
			if box[0] < edge || box[2] > size[0]-edge || box[1] < 20 || box[3] > size[1]-20 {
				t.Errorf("%s: runs out of the margins: %s", paper, row)
			}
		}
		if words < 200 {
			t.Errorf("%s: only %d words were found", paper, words)
		}
	}
}

// boxOf reads the box of a word, in points from the top left corner.
func boxOf(row string) (b [4]float64, ok bool) {
	row = strings.TrimSpace(row)
	if !strings.HasPrefix(row, "<word") {
		return b, false
	}
	for i, name := range []string{"xMin", "yMin", "xMax", "yMax"} {
		_, rest, found := strings.Cut(row, name+`="`)
		if !found {
			return b, false
		}
		b[i] = number(rest[:strings.Index(rest, `"`)])
	}
	return b, true
}

func number(s string) float64 {
	x, after := 0.0, 0.0
	for _, r := range s {
		switch {
		case r == '.':
			after = 1
		case after > 0:
			after /= 10
			x += after * float64(r-'0')
		default:
			x = 10*x + float64(r-'0')
		}
	}
	return x
}

// TestReach: a strip shows all values and limits.
func TestReach(t *testing.T) {
	f := func(x float64) *float64 { return &x }
	for name, c := range map[string]struct {
		q      record.DocReading
		lo, hi float64
	}{
		"limit above": {record.DocReading{Profile: []record.DocSample{{Azimuth: 0, Value: f(0.2)}, {Azimuth: 1, Value: f(0.4)}}, Limit: &record.DocLimit{Max: f(1)}}, 0.104, 1.096},
		"from zero":   {record.DocReading{Profile: []record.DocSample{{Azimuth: 0, Value: f(0)}, {Azimuth: 1, Value: nil}, {Azimuth: 2, Value: f(1)}}}, 0, 1.12},
		"one value":   {record.DocReading{Profile: []record.DocSample{{Azimuth: 0, Value: f(2)}}}, 1.5, 2.5},
	} {
		if lo, hi := reach(&c.q); math.Abs(lo-c.lo) > 1e-9 || math.Abs(hi-c.hi) > 1e-9 {
			t.Errorf("%s: %g to %g, want %g to %g", name, lo, hi, c.lo, c.hi)
		}
	}
}
