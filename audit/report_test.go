package audit

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"crownassay/reading"
)

const clearance = reading.ID("preparation.clearance.occlusal")

// made is an archive of n cases, a day apart from 1 January 2026 on, with the
// value of each as f says, a lower limit of 1 and an uncertainty of 0.05.
func made(n int, f func(i int) float64) []Case {
	limit, u := 1.0, 0.05
	out := make([]Case, n)
	for i := range out {
		x := f(i)
		v := Value{ID: clearance, Value: &x, Uncertainty: &u, Low: &limit, Verdict: reading.Conforms}
		switch {
		case x < limit-u:
			v.Verdict = reading.Fails
		case x < limit+u:
			v.Verdict = reading.Undecided
		}
		out[i] = Case{Name: fmt.Sprintf("c%03d", i), Tooth: []string{"16", "46"}[i%2], Readings: []Value{v},
			About: About{Dentist: []string{"d1", "d2", "d3"}[i%3], Date: fmt.Sprintf("2026-%02d-%02d", 1+i/28, 1+i%28)}}
	}
	return out
}

// TestSummary: 99 values of 1 to 99 hundredths: by 7.2.6.2 of the NIST/SEMATECH
// e-Handbook the p-quantile is at rank 100 p, that is p itself. Of 99 against a
// limit of 1 with 0.05 on each side 94 fail and 5 are undecided.
func TestSummary(t *testing.T) {
	s := Make(made(99, func(i int) float64 { return float64((i*37)%99+1) / 100 })).Readings[0]
	for _, q := range []struct {
		got  *float64
		want float64
	}{{s.Quantiles.P5, 0.05}, {s.Quantiles.P25, 0.25}, {s.Quantiles.Median, 0.5}, {s.Quantiles.P75, 0.75}, {s.Quantiles.P95, 0.95}} {
		if q.got == nil || math.Abs(*q.got-q.want) > 1e-9 {
			t.Errorf("quantile %v, want %g", q.got, q.want)
		}
	}
	if s.Fails.Count != 94 || s.Fails.Of != 99 || s.Undecided.Count != 5 {
		t.Errorf("%d fail and %d are undecided of %d, want 94, 5 of 99", s.Fails.Count, s.Undecided.Count, s.Fails.Of)
	}
	sum := 0
	for i, b := range s.Bins {
		sum += b.Count
		if w := b.To - b.From; math.Abs(w-0.5) > 1e-9 && math.Abs(w-0.2) > 1e-9 || i > 0 && math.Abs(b.From-s.Bins[i-1].To) > 1e-9 {
			t.Errorf("bin %d is %g to %g, want bins of one round width without gaps", i, b.From, b.To)
		}
	}
	if sum != 99 {
		t.Errorf("bins hold %d values, want 99", sum)
	}
	if len(s.Limits) != 1 || s.Limits[0].Count != 99 || *s.Limits[0].Min != 1 || s.Limits[0].Max != nil {
		t.Errorf("limits %+v, want at least 1 in 99", s.Limits)
	}
}

// TestTooFew: what few cases cannot say is not said.
func TestTooFew(t *testing.T) {
	four := made(4, func(i int) float64 { return 1.2 })
	r := Make(four)
	s := r.Readings[0]
	if s.Quantiles != (Quantiles{}) || len(s.Bins) != 0 || s.Outside != nil {
		t.Errorf("of four cases: %+v", s)
	}
	d := Look(four, clearance)
	if d.Chart != nil || !strings.Contains(d.TooFew, "Not enough") || !d.Dentists[0].Few {
		t.Errorf("of four cases: chart %v, %q", d.Chart, d.TooFew)
	}
	var b bytes.Buffer
	if err := r.WriteText(&b); err != nil || strings.Count(strings.ToLower(b.String()), "not enough") != 2 {
		t.Errorf("the text does not say that four are not enough: %v\n%s", err, b.String())
	}
	if Look(four, "no.such") != nil {
		t.Error("there is a detail of a reading that no case has")
	}
}

// TestShift: from the 60th case on dentist d2, who then has a new tool, reduces
// less: the chart is out only from there on, and says what coincides. Without the
// shift nothing is out.
func TestShift(t *testing.T) {
	wave := func(i int) float64 { return 1.3 + 0.02*float64(i*7%5-2) } // between 1.26 and 1.34
	steady := Look(made(90, wave), clearance)
	if n := steady.Chart.outside(); n != 0 || len(steady.Coincides) != 0 {
		t.Errorf("%d cases are outside of a steady chart, %v coincide", n, steady.Coincides)
	}
	cases := made(90, func(i int) float64 {
		if i >= 60 && i%3 == 1 {
			return wave(i) - 0.4
		}
		return wave(i)
	})
	for i := range cases {
		if i >= 60 && i%3 == 1 {
			cases[i].Used = []string{"tool 4711"}
		}
	}
	d := Look(cases, clearance)
	for i, p := range d.Chart.Points {
		if p.Out && i < 60 {
			t.Errorf("case %d is out before the shift", i)
		}
	}
	if len(d.Coincides) == 0 {
		t.Fatal("nothing coincides")
	}
	used := slices.IndexFunc(d.Coincides, func(c Coincidence) bool { return c.What == "used" && c.Name == "tool 4711" })
	dentist := slices.IndexFunc(d.Coincides, func(c Coincidence) bool { return c.What == "dentist" && c.Name == "d2" })
	if used < 0 || dentist < 0 {
		t.Fatalf("what coincides is %+v, want the tool 4711 and the dentist d2", d.Coincides)
	}
	c := d.Coincides[used]
	if c.OutOf+c.InOf != 90 || c.Out+c.In != 10 {
		t.Errorf("the tool: %+v, want 10 of 90 cases", c)
	}
	// all that fails does so in the months of the shift
	for _, m := range d.Shares {
		if (m.Month < "2026-03") != (m.Count == 0) {
			t.Errorf("month %s has %d failing", m.Month, m.Count)
		}
	}
}

func TestProblemsAndTables(t *testing.T) {
	cases := made(3, func(int) float64 { return 1.2 })
	cases = append(cases, Case{Name: "bad", Problem: "read prepared.stl: \"no mesh\", at all"})
	r := Make(cases)
	if r.Cases != 4 || r.Measured != 3 || len(r.Problems) != 1 || r.First != "2026-01-01" || r.Last != "2026-01-03" {
		t.Errorf("report %+v", r)
	}
	var values, summary bytes.Buffer
	if err := WriteValues(&values, cases); err != nil {
		t.Fatal(err)
	}
	if err := r.WriteSummary(&summary); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&values).ReadAll()
	if err != nil || len(rows) != 5 {
		t.Fatalf("%d rows, %v; want a head, three readings and a problem", len(rows), err)
	}
	at := func(row []string, column string) string { return row[slices.Index(rows[0], column)] }
	if at(rows[1], "value") != "1.2" || at(rows[1], "limit_min") != "1" || at(rows[1], "dentist") != "d1" || at(rows[4], "reason") != cases[3].Problem {
		t.Errorf("rows are %q", rows)
	}
	if sum, err := csv.NewReader(&summary).ReadAll(); err != nil || len(sum) != 2 || sum[1][12] != "0" || sum[1][15] != "0.5615" {
		// Wilson, none of three: 1.96^2 / (3 + 1.96^2) = 0.5615
		t.Errorf("summary %q, %v", sum, err)
	}
}
