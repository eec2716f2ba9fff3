package survival

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"pgregory.net/rapid"

	"crownassay/internal/rscript"
)

// sixMP and placebo are the weeks in remission of Freireich et al. 1963, Blood
// 21:699; below zero: still in remission.
var (
	sixMP   = []float64{6, 6, 6, -6, 7, -9, 10, -10, -11, 13, 16, -17, -19, -20, 22, 23, -25, -32, -32, -34, -35}
	placebo = []float64{1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23}
)

func weeks(w []float64) []Subject {
	var out []Subject
	for _, x := range w {
		s := Subject{Time: math.Abs(x)}
		if x > 0 {
			s.Cause = 1
		}
		out = append(out, s)
	}
	return out
}

// TestFreireich holds the estimate to the published table: shares and standard
// errors of the 6-MP group, and the log-rank statistic of both groups.
func TestFreireich(t *testing.T) {
	want := []Step{
		{Time: 6, Risk: 21, Lost: 3, Share: .857143, SE: .0764}, {Time: 7, Risk: 17, Lost: 1, Share: .806723, SE: .0869},
		{Time: 10, Risk: 15, Lost: 1, Share: .752941, SE: .0963}, {Time: 13, Risk: 12, Lost: 1, Share: .690196, SE: .1068},
		{Time: 16, Risk: 11, Lost: 1, Share: .627451, SE: .1141}, {Time: 22, Risk: 7, Lost: 1, Share: .537815, SE: .1282},
		{Time: 23, Risk: 6, Lost: 1, Share: .448179, SE: .1346},
	}
	got, err := KaplanMeier(weeks(sixMP))
	if err != nil || len(got) != len(want) {
		t.Fatalf("%d steps, %v; want %d", len(got), err, len(want))
	}
	for i, w := range want {
		g := got[i]
		if g.Time != w.Time || g.Risk != w.Risk || g.Lost != w.Lost || math.Abs(g.Share-w.Share) > 5e-7 || math.Abs(g.SE-w.SE) > 5e-5 {
			t.Errorf("step %+v, want %+v", g, w)
		}
	}
	d, err := LogRank([][]Subject{weeks(sixMP), weeks(placebo)})
	if err != nil || math.Abs(d.ChiSq-16.793) > 5e-4 || d.Freedom != 1 {
		t.Errorf("log-rank %+v, %v; want chi squared 16.793", d, err)
	}
}

// TestAgainstR holds estimates, standard errors and intervals to the survival
// package of R on Freireich's data and on random observations with ties and
// three causes.
func TestAgainstR(t *testing.T) {
	sets := map[string][][]Subject{"Freireich": {weeks(sixMP), weeks(placebo)}}
	rng := rand.New(rand.NewPCG(3, 1))
	for n := range 3 {
		sets[fmt.Sprint("random ", n)] = [][]Subject{invented(rng, 60, 1), invented(rng, 40, 1.6), invented(rng, 90, 0.7)}
	}
	for name, groups := range sets {
		t.Run(name, func(t *testing.T) { compare(t, groups) })
	}
}

// invented makes observations in quarters of a year, so that times are tied.
func invented(rng *rand.Rand, n int, hazard float64) []Subject {
	out := make([]Subject, n)
	for i := range out {
		loss, seen := rng.ExpFloat64()*8/hazard, rng.Float64()*10
		out[i] = Subject{Time: math.Ceil(4*min(loss, seen)) / 4}
		if loss < seen {
			out[i].Cause = 1 + rng.IntN(3)
		}
	}
	return out
}

func compare(t *testing.T, groups [][]Subject) {
	var all []Subject
	text := "time,cause,group\n"
	for g, ss := range groups {
		for _, s := range ss {
			all = append(all, s)
			text += fmt.Sprintf("%g,%d,%d\n", s.Time, s.Cause, g)
		}
	}
	file := filepath.Join(t.TempDir(), "observations.csv")
	if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	steps, err := KaplanMeier(all)
	if err != nil {
		t.Fatal(err)
	}
	got := [][]float64{}
	add := func(what float64, v ...float64) { got = append(got, append([]float64{what}, v...)) }
	for _, s := range steps {
		if s.Share > 0 {
			add(0, s.Time, float64(s.Risk), float64(s.Lost), s.Share, s.SE, s.Low, s.High)
		}
	}
	d, err := LogRank(groups)
	if err != nil {
		t.Fatal(err)
	}
	add(-1, append([]float64{d.ChiSq}, d.Expected...)...)
	for cause := 1; cause <= 3; cause++ {
		steps, err := AalenJohansen(all, cause)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range steps {
			add(float64(cause), s.Time, s.Share, s.SE, s.Low, s.High)
		}
	}
	rows := rscript.Run(t, []string{"survival"}, "testdata/reference.R", file)
	kinds := map[string]float64{"km": 0, "logrank": -1, "aj1": 1, "aj2": 2, "aj3": 3}
	if len(rows) != len(got) {
		t.Fatalf("R has %d lines, we have %d", len(rows), len(got))
	}
	for i, row := range rows {
		want := rscript.Numbers(t, row[1:len(row)-1])
		if kinds[row[0]] != got[i][0] || len(want) != len(got[i])-1 {
			t.Fatalf("line %d: R has %v, we have %v", i+1, row, got[i])
		}
		for j, w := range want {
			if math.Abs(got[i][j+1]-w) > 1e-9*(1+math.Abs(w)) {
				t.Errorf("line %d, %s: value %d is %.12g, R has %.12g", i+1, row[0], j+1, got[i][j+1], w)
			}
		}
	}
}

// TestSharesAddUp: what is in use and what is lost for each cause are all.
func TestSharesAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		subjects := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Subject {
			return Subject{Time: float64(rapid.IntRange(0, 12).Draw(t, "time")), Cause: rapid.IntRange(0, 3).Draw(t, "cause")}
		}), 1, 40).Draw(t, "subjects")
		km, err := KaplanMeier(subjects)
		if err != nil {
			t.Fatal(err)
		}
		for _, at := range []float64{0, 3, 7.5, 12} {
			use, _ := At(km, subjects, at, 1)
			sum := use.Share
			for cause := 1; cause <= 3; cause++ {
				aj, err := AalenJohansen(subjects, cause)
				if err != nil {
					t.Fatal(err)
				}
				lost, _ := At(aj, subjects, at, 0)
				sum += lost.Share
			}
			if math.Abs(sum-1) > 1e-12 {
				t.Fatalf("at %g the shares add up to %.15g", at, sum)
			}
		}
	})
}

// TestRefuses: times that are none are errors, and nothing is known past the
// longest observation.
func TestRefuses(t *testing.T) {
	for _, s := range []Subject{{Time: -1}, {Time: math.NaN()}, {Time: math.Inf(1)}, {Time: 1, Cause: -1}} {
		if _, err := KaplanMeier([]Subject{s}); err == nil {
			t.Errorf("KaplanMeier(%v) takes it", s)
		}
	}
	if _, err := LogRank([][]Subject{weeks(sixMP)}); err == nil {
		t.Error("one group is compared")
	}
	km, _ := KaplanMeier(weeks(sixMP))
	if _, known := At(km, weeks(sixMP), 36, 1); known {
		t.Error("something is known after the last observation")
	}
	if p, known := At(km, weeks(sixMP), 20, 1); !known || p.Risk != 8 || math.Abs(p.Share-.627451) > 1e-6 {
		t.Errorf("at 20 weeks: %+v, %v", p, known)
	}
}
