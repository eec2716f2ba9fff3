package gauge

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"
)

// months invents checks of a scanner, one a month, whose error drifts by so
// many standard deviations a month after the first ten.
func months(rng *rand.Rand, n int, drift float64) []*Result {
	var out []*Result
	for i := range n {
		off := 0.010 + 0.002*rng.NormFloat64() + 0.002*drift*float64(max(0, i-10))
		out = append(out, &Result{Made: time.Date(2026, time.Month(1+i), 5, 9, 0, 0, 0, time.UTC), Body: BodyInfo{Name: "ball"}, ScannerUM: 30,
			Dimensions: []Dimension{{Name: "diameter", Unit: "mm", Trueness: off, TruenessU: 0.004, Scatter: 0.001, DOF: 4}}})
	}
	return out
}

// TestDriftIsFound: without drift few series leave the limits within two
// years, with one of a standard deviation in two months nearly all do.
func TestDriftIsFound(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 8))
	for _, c := range []struct {
		drift    float64
		min, max float64
	}{{0, 0, 0.2}, {0.5, 0.9, 1}} {
		out := 0
		const series = 300
		for range series {
			hs, err := Histories(months(rng, 24, c.drift), HistorySettings{})
			if err != nil || len(hs) != 1 {
				t.Fatal(len(hs), err)
			}
			for _, p := range hs[0].Points {
				if p.Out {
					out++
					break
				}
			}
		}
		if share := float64(out) / series; share < c.min || share > c.max {
			t.Errorf("drift %g: %.2f of the series leave the limits, want %g to %g", c.drift, share, c.min, c.max)
		}
	}
}

func TestHistoryText(t *testing.T) {
	hs, err := Histories(months(rand.New(rand.NewPCG(1, 1)), 24, 3), HistorySettings{})
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	if err := WriteHistory(&b, hs); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"ball: error of the diameter, um", "outside", "has drifted"} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("no %q in\n%s", want, b.String())
		}
	}
	few, err := Histories(months(rand.New(rand.NewPCG(1, 1)), 4, 3), HistorySettings{})
	if err != nil || few[0].Points[3].Average != nil {
		t.Errorf("limits after 4 checks, %v", err)
	}
	if _, err := Histories(nil, HistorySettings{Lambda: 2}); err == nil {
		t.Error("lambda 2 was taken")
	}
}

func TestCurrent(t *testing.T) {
	day := func(d int) time.Time { return time.Date(2026, 11, d, 0, 0, 0, 0, time.UTC) }
	all := []*Result{{Scanner: "a", Made: day(1), ScannerUM: 90}, {Scanner: "b", Made: day(2), ScannerUM: 40}, {Scanner: "a", Made: day(3), ScannerUM: 30}}
	for n, want := range []string{"", "90", "90", "40"} {
		r := Current(all[:n])
		got := ""
		if r != nil {
			got = fmt.Sprint(r.ScannerUM)
		}
		if got != want {
			t.Errorf("of %d checks %q um counts, want %q", n, got, want)
		}
	}
}
