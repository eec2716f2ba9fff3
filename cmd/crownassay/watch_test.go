package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"crownassay/internal/phantom"
	"crownassay/record"
	"crownassay/sqlite"
)

// TestWatchTakesACaseFolder drops a whole case folder into a watched folder: it
// becomes a case with the settings of its description, once, also when the
// program is started again.
func TestWatchTakesACaseFolder(t *testing.T) {
	_, from := built(t, phantom.Spec{Tooth: "36", Seed: 5, Triangles: 20000})
	box, store := t.TempDir(), t.TempDir()
	yaml := string(content(t, from, "case.yaml")) + "cement_space_um: 80\nblock: block-16\nlimits: own.yaml\n"
	to := filepath.Join(box, "P-7 first visit")
	if err := os.Mkdir(to, 0o755); err != nil {
		t.Fatal(err)
	}
	for name, b := range map[string][]byte{"case.yaml": []byte(yaml), "prepared.stl": content(t, from, "prepared.stl"), "opposing.stl": content(t, from, "opposing.stl"),
		"own.yaml": []byte("rows:\n  - {reading: scan.noise, max: 0.05, source: our scanner}\n")} {
		if err := os.WriteFile(filepath.Join(to, name), b, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	for range 2 {
		watched(t, box, store, "P-7 first visit")
	}
	s, err := sqlite.Open(context.Background(), store, nil)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	all, err := s.Cases(context.Background())
	if err != nil || len(all) != 1 {
		t.Fatalf("%d cases, %v; want one", len(all), err)
	}
	k := all[0]
	if k.Tooth != "36" || k.CementUM == nil || *k.CementUM != 80 || k.Block != "block-16" || k.Own.File != "own.yaml" || !strings.Contains(k.Own.Text, "our scanner") {
		t.Errorf("kept as %+v", k)
	}
	takes, err := s.Takes(context.Background(), k.ID)
	if now := record.Current(takes); err != nil || now["prepared"].File != "prepared.stl" || now["opposing"].File != "opposing.stl" {
		t.Errorf("takes %+v, %v", takes, err)
	}
}

// watched runs the command until the store has a case of that title, and a
// while longer.
func watched(t *testing.T, box, store, title string) {
	t.Helper()
	ctx, stop := context.WithCancel(context.Background())
	s, err := sqlite.Open(ctx, store, nil)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	var out, complaints bytes.Buffer
	ended := make(chan int, 1)
	go func() {
		ended <- run(ctx, []string{"watch", box, "--store", store}, nil, &out, &complaints)
	}()
	for end := time.Now().Add(30 * time.Second); ; time.Sleep(50 * time.Millisecond) {
		all, err := s.Cases(ctx)
		if err != nil || time.Now().After(end) || len(ended) > 0 {
			stop()
			t.Fatalf("%d cases, %v; the program said %s%s", len(all), err, out.String(), complaints.String())
		}
		if len(all) == 0 || all[0].Title != title {
			continue
		}
		if takes, err := s.Takes(ctx, all[0].ID); err != nil || len(takes) == 2 {
			break
		}
	}
	time.Sleep(2 * time.Second) // a second case would be there by now
	stop()
	if status := <-ended; status != 0 || complaints.Len() > 0 {
		t.Errorf("status %d: %s", status, complaints.String())
	}
}
