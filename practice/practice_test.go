package practice

import (
	"context"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"crownassay/record"
)

// shelf keeps records in memory.
type shelf struct {
	cases []record.Kept
	books map[int64]*book
}

func (s *shelf) Cases(context.Context) ([]record.Kept, error) { return s.cases, nil }
func (s *shelf) Book(id int64) record.Book                    { return s.books[id] }
func (s *shelf) AddCase(_ context.Context, k record.Kept) (record.Kept, error) {
	k.ID = int64(len(s.cases) + 1)
	s.cases = append(s.cases, k)
	s.books[k.ID] = &book{id: k.ID}
	return k, nil
}

type book struct {
	record.Book
	id  int64
	all []record.Raw
}

func (b *book) Case() int64                               { return b.id }
func (b *book) Raw(context.Context) ([]record.Raw, error) { return b.all, nil }
func (b *book) Append(_ context.Context, e record.Entry) (record.Sealed, error) {
	e.Case, e.Number, e.Previous, e.At = b.id, int64(len(b.all)+1), record.Beginning, time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC)
	if n := len(b.all); n > 0 {
		e.Previous = b.all[n-1].Hash
	}
	s, err := record.Seal(e)
	if err == nil {
		b.all = append(b.all, record.Raw{Number: s.Number, Bytes: s.Bytes, Hash: s.Hash})
	}
	return s, err
}

const table = `event,date,patient,tooth,material,dentist,block,tool,luting,said,mesial,mesial_removed_mm,mesial_designed_mm,distal,distal_setting_mm,occlusion,seating,margin,remade,why,bleeding,probing_mm,retention,end
try-in,2024-02-01,P1,46,zirconia-3y,D1,B1,T1,glass-ionomer,conforms,heavy,0.02,-0.04,right,0.02,even,full,smooth,,,,,,
try-in,2024-03-01,P2,16,lithium-disilicate,D2,B2,T1,,fails,open,,0.05,,,high,full,open,yes,mesial contact open,,,,
try-in,2024-03-20,P2,16,lithium-disilicate,D2,B3,T2,adhesive-resin,conforms,right,,-0.01,,,even,full,smooth,no,,,,,
recall,2025-02-01,P1,46,,D1,,,,,right,,,,,,,smooth,,,no,3,firm,
recall,2026-02-01,P1,46,,D1,,,,,,,,,,,,,,,yes,6,lost,loosening
recall,2026-03-20,P2,16,,D1,,,,,,,,,,,,smooth,,,,,firm,
`

func imported(t *testing.T, text string) (*shelf, []Row) {
	t.Helper()
	rows, err := ReadCSV("earlier.csv", strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	s := &shelf{books: map[int64]*book{}}
	if _, err := Import(context.Background(), s, rows, "AB", nil); err != nil {
		t.Fatal(err)
	}
	return s, rows
}

// TestImport: a table becomes records and these the crowns it tells of; read
// once more, it adds nothing.
func TestImport(t *testing.T) {
	ctx := context.Background()
	s, rows := imported(t, table)
	again, err := Import(ctx, s, rows, "AB", nil)
	if want := (Imported{Known: 6}); err != nil || again != want {
		t.Errorf("the same table again: %+v, %v; want %+v", again, err, want)
	}
	crowns, err := Gather(ctx, s)
	if err != nil || len(crowns) != 3 {
		t.Fatalf("%d crowns, %v; want 3", len(crowns), err)
	}
	first, remade, second := crowns[0], crowns[1], crowns[2]
	if want := map[string]string{"block": "B1", "tool": "T1"}; !cmp.Equal(first.Lots, want) || first.Luting != "glass-ionomer" {
		t.Errorf("first crown has lots %v, luting %q", first.Lots, first.Luting)
	}
	if remade.Delivered() || remade.Lots["block"] != "B2" || second.Lots["block"] != "B3" || remade.Luting != "" || second.Luting != "adhesive-resin" {
		t.Errorf("crown made again %v %v, the next %v %v", remade.Lots, remade.Luting, second.Lots, second.Luting)
	}
	for i, want := range []struct {
		years float64
		end   string
	}{{731 / daysOfYear, "loosening"}, {0, ""}, {730 / daysOfYear, ""}} {
		years, end, err := crowns[i].Observed()
		if err != nil || math.Abs(years-want.years) > 1e-9 || end != want.end {
			t.Errorf("crown %d observed %.4f years, %q, %v; want %.4f, %q", i, years, end, err, want.years, want.end)
		}
	}
	for id := int64(1); id <= 2; id++ {
		if _, err := record.Entries(ctx, s.Book(id)); err != nil {
			t.Errorf("record of case %d: %v", id, err)
		}
	}
}

// TestContacts: each scale has the contacts it is known of.
func TestContacts(t *testing.T) {
	s, _ := imported(t, table)
	crowns, _ := Gather(context.Background(), s)
	c, unknown := Contacts(crowns, Designed)
	if len(c) != 3 || unknown != 1 || c[0].Tightness != 0.04 || c[0].Felt != 3 || c[0].Distal || c[0].Upper || c[1].Tightness != -0.05 || c[1].Felt != 0 || !c[1].Upper || c[1].Tool != "T1" {
		t.Errorf("%d contacts by design, %d unknown: %+v", len(c), unknown, c)
	}
	if c, unknown := Contacts(crowns, Set); len(c) != 1 || unknown != 3 || c[0].Tightness != 0.02 || !c[0].Distal {
		t.Errorf("%d contacts by setting, %d unknown: %+v", len(c), unknown, c)
	}
}

// TestOutcome counts by hand.
func TestOutcome(t *testing.T) {
	s, _ := imported(t, table)
	crowns, _ := Gather(context.Background(), s)
	o := Outcome(crowns)
	if want := (Counted{"", 1, 3, 1. / 3, o.Remade.Low, o.Remade.High}); o.Remade != want || !(o.Remade.Low < 1./3 && 1./3 < o.Remade.High) {
		t.Errorf("share made again %+v, want %+v", o.Remade, want)
	}
	same := func(c Counted, name string, found, of int) bool {
		return c.Name == name && c.Found == found && c.Of == of
	}
	if o.Crowns != 3 || !same(o.AtOnce, "", 1, 3) || !same(o.Recalled, "", 2, 2) {
		t.Errorf("crowns %d, remade %v, at once %v, recalled %v", o.Crowns, o.Remade, o.AtOnce, o.Recalled)
	}
	for i, want := range []struct {
		name  string
		found int
	}{{"open", 1}, {"light", 0}, {"right", 1}, {"heavy", 1}} {
		if !same(o.Contacts["mesial"][i], want.name, want.found, 3) {
			t.Errorf("mesial contacts %v, want %v of 3", o.Contacts["mesial"][i], want)
		}
	}
	if !same(o.Recall[0], "bleeding", 1, 1) || !same(o.Recall[1], "probing", 1, 1) || !same(o.Recall[2], "loosened", 1, 2) {
		t.Errorf("last recalls: %v", o.Recall)
	}
	if !same(o.Ended[2], "loosening", 1, 2) {
		t.Errorf("ends: %v", o.Ended)
	}
}

// TestLast: one of two delivered crowns is lost after two years.
func TestLast(t *testing.T) {
	s, _ := imported(t, table)
	crowns, _ := Gather(context.Background(), s)
	l, err := Last(crowns, "")
	if err != nil || l.Crowns != 2 || l.Ended != 1 || len(l.InUse) != 1 || len(l.Years) != 3 || l.Years[1].Share != 1 || l.Years[0].Risk != 2 {
		t.Fatalf("lasting %+v, %v", l, err)
	}
	if len(l.Lost[0].Steps) != 1 || len(l.Lost[1].Steps) != 0 {
		t.Errorf("lost by technical %v, biological %v", l.Lost[0], l.Lost[1])
	}
	for _, g := range Groups {
		parts, _, err := LastBy(crowns, g)
		n := 0
		for _, p := range parts {
			n += p.Crowns
		}
		if err != nil || n != 2 {
			t.Errorf("by %s: %d crowns, %v", g, n, err)
		}
	}
}

// TestEndsHaveCauses: each end is of one of the kinds.
func TestEndsHaveCauses(t *testing.T) {
	for _, e := range record.Ends[1:] {
		if c := causeOf[e]; c < 1 || c > len(Causes) {
			t.Errorf("end %s has cause %d", e, c)
		}
	}
	if len(causeOf) != len(record.Ends)-1 {
		t.Errorf("%d ends have a cause, of %d", len(causeOf), len(record.Ends)-1)
	}
}

// TestReadCSVRefuses: the message names file, line and column and says what to
// do.
func TestReadCSVRefuses(t *testing.T) {
	const head = "event,date,patient,tooth,mesial,mesial_removed_mm,remade,why\n"
	for text, want := range map[string]string{
		"":                                            "empty",
		"event,date,patient\n":                        "no column \"tooth\"",
		"event,date,patient,tooth,colour":             "unknown column \"colour\"",
		"event,date,patient,tooth,date":               "twice",
		head + "try-in,1.2.2024,P1,46,,,,\n":          "line 2",
		head + "try-in,2024-02-01,P1,49,,,,\n":        "column tooth",
		head + "try-in,2024-02-01,,46,,,,\n":          "column patient",
		head + "visit,2024-02-01,P1,46,,,,\n":         "column event",
		head + "try-in,2024-02-01,P1,46,tight,,,\n":   "unknown contact",
		head + "try-in,2024-02-01,P1,46,heavy,20,,\n": "micrometres",
		head + "try-in,2024-02-01,P1,46,heavy,x,,\n":  "no number",
		head + "try-in,2024-02-01,P1,46,,,yes,\n":     "why",
		head + "try-in,2024-02-01,P1,46,,,perhaps,\n": "neither yes nor no",
		head + "try-in,2024-02-01,P1\n":               "line 2",
	} {
		if _, err := ReadCSV("earlier.csv", strings.NewReader(text)); err == nil || !strings.Contains(err.Error(), want) || !strings.Contains(err.Error(), "earlier.csv") {
			t.Errorf("ReadCSV(%q): %v, want a message with %q", text, err, want)
		}
	}
	if _, err := ReadCSV("earlier.csv", strings.NewReader("event,date,patient,tooth,luting\ntry-in,2024-02-01,P1,46,glue\n")); err == nil || !strings.Contains(err.Error(), "glass-ionomer") {
		t.Errorf("a family that is none: %v", err)
	}
	rows, err := ReadCSV("earlier.csv", strings.NewReader(head+"recall,2024-02-01,P1,46,,,,\n"))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Import(context.Background(), &shelf{books: map[int64]*book{}}, rows, "AB", nil); err == nil || !strings.Contains(err.Error(), "line 2") {
		t.Errorf("a recall of no crown: %v", err)
	}
}

func FuzzReadCSV(f *testing.F) {
	f.Add(table)
	f.Fuzz(func(t *testing.T, text string) {
		rows, err := ReadCSV("fuzz.csv", strings.NewReader(text))
		for _, r := range rows {
			if err == nil && (r.TryIn == nil) == (r.Recall == nil) {
				t.Errorf("line %d is of both kinds or none", r.Line)
			}
		}
	})
}
