package main

import (
	"net/url"
	"testing"
	"time"

	"crownassay/practice/visit"
)

// TestVisitsServed goes through a visit by the interface of the page.
func TestVisitsServed(t *testing.T) {
	s := serveBench(t)
	type body = map[string]any
	f := asked[visit.Forecast](s, "POST", "/api/visits", body{"chair": 1, "material": "leucite"}, 200)
	if len(f.Visits) != 1 || f.Visits[0].Stage != "anaesthesia" || f.Visits[0].Next != "onset" || f.Visits[0].Ready == nil {
		t.Fatalf("started: %+v", f)
	}
	tap := func(path string, b body, want int) visit.Forecast {
		t.Helper()
		return asked[visit.Forecast](s, "POST", "/api/visits/1/"+path, b, want)
	}
	first := f.Visits[0].Last
	f = tap("taps", body{"last": first}, 200)
	if f.Visits[0].Stage != "onset" {
		t.Errorf("after a tap: %+v", f.Visits[0])
	}
	s.ask("POST", "/api/visits/1/taps", body{"last": first}, 409) // a second press of the same
	s.ask("POST", "/api/visits/7/taps", body{"last": 0}, 404)
	s.ask("POST", "/api/visits", body{"chair": 1}, 422) // taken
	s.ask("POST", "/api/visits", body{"chair": 2, "case": 5}, 404)
	s.ask("POST", "/api/visits/1/taps", body{"kind": "back", "back": "remake", "last": 0}, 422) // nothing was designed
	if f = tap("undo", body{"last": f.Visits[0].Last}, 200); f.Visits[0].Stage != "anaesthesia" {
		t.Errorf("after taking back: %+v", f.Visits[0])
	}
	tap("taps", body{"kind": "stage", "stage": "design", "last": 0}, 200)
	if f = tap("taps", body{"kind": "back", "back": "another-scan", "last": 0}, 422); len(f.Visits) != 0 {
		t.Error("went back to what was never done")
	}
	b := asked[visit.Booking](s, "GET", "/api/visits/booking?"+url.Values{"material": {"leucite"}, "chair": {"2"}, "sure": {"0.95"}, "at": {time.Now().Add(time.Hour).UTC().Format(time.RFC3339)}}.Encode(), nil, 200)
	if b.Sure != 0.95 || b.Minutes < b.Left.P95 || b.Minutes > b.Left.P95+5 || !b.Default {
		t.Errorf("booking: %+v", b)
	}
	if f = tap("taps", body{"kind": "end", "last": 0}, 200); len(f.Visits) != 0 {
		t.Errorf("after the end: %+v", f.Visits)
	}
	all := asked[struct{ Visits []visit.VisitDocument }](s, "GET", "/api/visits", nil, 200).Visits
	if len(all) != 1 || all[0].Open || len(all[0].Taps) != 4 {
		t.Errorf("visits: %+v", all)
	}
}

// TestVisitsQuick: with two years of visits and two chairs in use the plan comes
// quickly enough to be asked for at every tap.
func TestVisitsQuick(t *testing.T) {
	ctx := t.Context()
	b, err := openBench(ctx, t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	defer b.close()
	plan := visit.Default()
	for i := range 300 {
		at := time.Now().AddDate(0, 0, -2*i-1)
		v := visit.Visit{Chair: 1 + i%2, Material: "zirconia-3y"}
		for j, st := range plan.For(v.Material) {
			v.Taps = append(v.Taps, visit.Tap{Kind: visit.KindStage, Stage: st.Name, At: at.Add(time.Duration(j) * 9 * time.Minute)})
		}
		v.Taps = append(v.Taps, visit.Tap{Kind: visit.KindEnd, At: at.Add(3 * time.Hour)})
		if _, err := b.store.ImportVisit(ctx, v); err != nil {
			t.Fatal(err)
		}
	}
	r := visit.Room{Store: b.store, Plan: plan}
	for chair := 1; chair <= 2; chair++ {
		if _, err := r.Start(ctx, visit.Visit{Chair: chair, Material: "zirconia-3y"}, ""); err != nil {
			t.Fatal(err)
		}
	}
	took := time.Hour
	for range 3 {
		began := time.Now()
		f, err := r.Now(ctx, time.Now().UTC())
		if err != nil || len(f.Visits) != 2 {
			t.Fatal(f, err)
		}
		took = min(took, time.Since(began))
	}
	t.Logf("the plan of two visits with 300 kept ones took %v", took)
	if took > 900*time.Millisecond { // three times what is aimed at: other programs run beside this one
		t.Errorf("the plan took %v", took)
	}
}
