package twoyears_test

import (
	"context"
	"math"
	"testing"

	"crownassay/internal/twoyears"
	"crownassay/practice"
	"crownassay/practice/settings"
	"crownassay/practice/visit"
	"crownassay/record"
	"crownassay/sqlite"
)

// gathered puts the history into a store and reads it again.
func gathered(t *testing.T, seed uint64) []practice.Crown {
	t.Helper()
	ctx := context.Background()
	s, err := sqlite.Open(ctx, t.TempDir(), nil)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	rows := twoyears.Crowns(&twoyears.Usual, seed)
	did, err := practice.Import(ctx, s, rows, "DEMO", nil)
	if err != nil || did.Known != 0 {
		t.Fatalf("import: %+v, %v", did, err)
	}
	crowns, err := practice.Gather(ctx, s)
	if err != nil {
		t.Fatal(err)
	}
	for _, k := range []int64{1, int64(did.Cases)} {
		if _, err := record.Verify(ctx, s.Book(k)); err != nil {
			t.Errorf("record of case %d: %v", k, err)
		}
	}
	return crowns
}

// best is the design of the lowest expected loss, by the truth itself.
func best(w *twoyears.Truth, loss settings.Losses) float64 {
	at, least := 0.0, math.Inf(1)
	for x := -0.05; x < 0.08; x += 0.0005 {
		sum := 0.0
		for k, p := range w.Chance(x) {
			sum += p * loss[k]
		}
		if sum < least {
			at, least = x, sum
		}
	}
	return at
}

// TestTruthIsFound: from the invented history the setting is found within its
// interval, the tight lot is named, and crowns of which the program had said
// that they fail are lost more often.
func TestTruthIsFound(t *testing.T) {
	w := &twoyears.Usual
	crowns := gathered(t, 1)
	var l practice.Learner
	for scale, off := range map[practice.Scale]float64{practice.Designed: 0, practice.Set: w.Off} {
		r, err := l.Ask(context.Background(), crowns, practice.Question{Scale: scale, Losses: settings.DefaultLosses})
		if err != nil {
			t.Fatal(err)
		}
		want := best(w, settings.DefaultLosses) - off
		if len(r.Advice.Not) > 0 || r.Advice.Low > want+0.002 || r.Advice.High < want-0.002 {
			t.Errorf("%s: %s; the truth is %.4f mm", scale, r.Sentence(), want)
		}
		if d := r.Drift; d == nil || d.With == nil || d.With.Name != w.TightLot {
			t.Errorf("%s: drift says %q, the tight lot is %s", scale, r.DriftSentence(), w.TightLot)
		}
		t.Log(r.Sentence(), r.DriftSentence())
	}
	s, err := practice.Survive(crowns, practice.BySaid)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%d crowns, %d ended", s.All.Crowns, s.All.Ended)
	for i, c := range s.All.Years[:2] {
		if want := math.Exp(-0.018 * float64(i)); c.Low > want || c.High < want { // the mean of the true rates, weighted by the crowns
			t.Errorf("after %d years %.3f (%.3f to %.3f) in use, the truth is about %.3f", i, c.Share, c.Low, c.High, want)
		}
	}
}

// TestHistoriesAreAHistory: the same seed gives the same rows, another others,
// and every row can be kept.
func TestHistories(t *testing.T) {
	a, b := twoyears.Crowns(&twoyears.Usual, 1), twoyears.Crowns(&twoyears.Usual, 1)
	if len(a) != len(b) || len(a) < 500 {
		t.Fatalf("%d and %d rows", len(a), len(b))
	}
	for i := range a {
		if a[i].Patient != b[i].Patient || a[i].Line != i+2 {
			t.Fatalf("row %d differs", i)
		}
		for _, e := range []interface{ Check() error }{a[i].TryIn, a[i].Recall} {
			switch e := e.(type) {
			case *record.TryInEntry:
				if e != nil && e.Check() != nil {
					t.Errorf("row %d: %v", i, e.Check())
				}
			case *record.RecallEntry:
				if e != nil && e.Check() != nil {
					t.Errorf("row %d: %v", i, e.Check())
				}
			}
		}
	}
}

// TestTimesAreLearned: from the invented visits the practice's own medians and
// its chance of going back are found.
func TestTimesAreLearned(t *testing.T) {
	visits := twoyears.Visits(twoyears.Crowns(&twoyears.Usual, 1), 1)
	now := twoyears.End.AddDate(0, 1, 0)
	for i := range visits {
		if err := visit.CheckImport(&visits[i], now); err != nil {
			t.Fatalf("visit %d: %v", i, err)
		}
	}
	l := visit.Default().Learn(visits)
	found := 0
	for _, d := range l.Durations() {
		for _, s := range twoyears.Spells {
			if d.Stage != s.Stage || d.Material != "" && d.Material != s.Only || d.Again || d.Own == 0 {
				continue
			}
			found++
			want := s.Median
			if s.Stage == "retraction" || s.Stage == "impression" { // done again they take six minutes
				want = (s.Median + 6*twoyears.Again) / (1 + twoyears.Again)
			}
			if se := s.Sigma / math.Sqrt(float64(d.Own)); math.Abs(math.Log(d.Median/want)) > 3.5*se+0.02 {
				t.Errorf("%s of %s: median %.2f minutes learned from %d, the truth is %.2f", d.Stage, d.Material, d.Median, d.Own, want)
			}
		}
	}
	if found != len(twoyears.Spells) {
		t.Errorf("%d of %d stages learned", found, len(twoyears.Spells))
	}
	for _, c := range l.Chances {
		if c.Back == "more-reduction" && (c.Low > twoyears.Again || c.High < twoyears.Again) {
			t.Errorf("going back: %.3f to %.3f learned, the truth is %.2f", c.Low, c.High, twoyears.Again)
		}
	}
	for _, v := range twoyears.Today(now, 1) {
		if err := visit.CheckImport(&v, now); err != nil || !v.Open() {
			t.Errorf("a visit of today: %v, open %v", err, v.Open())
		}
	}
}
