package twoyears_test

import (
	"context"
	"math"
	"testing"

	"crownassay/internal/twoyears"
	"crownassay/practice"
	"crownassay/practice/settings"
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
