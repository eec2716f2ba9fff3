package main

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"net/http/httptest"
	"os"
	"path/filepath"
	"testing"

	"crownassay/internal/phantom"
)

// begin serves a bench over a folder; the function ends it.
func begin(t *testing.T, dir string) (*served, func()) {
	t.Helper()
	b, err := openBench(context.Background(), dir)
	if err != nil {
		t.Fatal(err)
	}
	if err := b.work(context.Background(), dir, ""); err != nil {
		t.Fatal(err)
	}
	s := &served{t, httptest.NewServer(b.Handler(nil))}
	return s, func() {
		s.Close()
		if err := b.close(); err != nil {
			t.Error(err)
		}
	}
}

// TestOpensFromTheStore measures a case, ends the program and begins it again
// while the mesh files are such that nothing could be measured: everything that
// is drawn comes from the store, the same as before.
func TestOpensFromTheStore(t *testing.T) {
	dir := t.TempDir()
	_, from := built(t, phantom.Spec{Tooth: "36", Seed: 5, Triangles: 40000, Crown: &phantom.Crown{Triangles: 20000}})
	s, end := begin(t, dir)
	s.ask("POST", "/api/cases", object{"tooth": "36", "material": "zirconia-3y"}, 201)
	for _, f := range []string{"prepared", "opposing", "crown"} {
		s.upload(1, f+".stl&role="+f, content(t, from, f+".stl"), 201)
	}
	s.measure(1)
	maps := asked[object](s, "GET", "/api/cases/1/maps", nil, 200)["maps"].([]any)
	paths := []string{"/api/cases/1/record", "/api/cases/1/maps"}
	for _, role := range []string{"prepared", "opposing", "crown"} {
		paths = append(paths, "/api/cases/1/surfaces/"+role)
	}
	for _, m := range maps {
		m := m.(object)
		paths = append(paths, fmt.Sprintf("/api/cases/1/maps/%v/%v", m["role"], m["reading"]))
	}
	if len(maps) < 8 {
		t.Errorf("only %d maps", len(maps))
	}
	was := map[string][]byte{}
	for _, p := range paths {
		was[p] = s.ask("GET", p, nil, 200)
	}
	slice := "/api/cases/1/slice?point=0,0,3&normal=0.6,0,0.8"
	cut := asked[object](s, "GET", slice, nil, 200)
	end()

	whole := spoil(t, filepath.Join(dir, "meshes"))
	s, end = begin(t, dir)
	defer end()
	s.ask("GET", "/api/cases/1/surfaces/before", nil, 404)
	for _, p := range paths {
		if got := s.ask("GET", p, nil, 200); !bytes.Equal(got, was[p]) {
			t.Errorf("%s: %d bytes that differ from the %d before the restart", p, len(got), len(was[p]))
		}
	}
	again := asked[object](s, "GET", slice, nil, 200)
	a, b := cut["lines"].([]any), again["lines"].([]any)
	if len(a) == 0 || len(a) != len(b) {
		t.Fatalf("the section has %d lines, %d before the restart", len(b), len(a))
	}
	for i := range a {
		if d := lineLength(b[i]) - lineLength(a[i]); math.Abs(d) > 1e-4 { // surfaces are kept in single precision
			t.Errorf("line %d of the section is longer by %.6f mm after the restart", i, d)
		}
	}
	// The finish line can be moved: the case is measured for that.
	for path, b := range whole {
		if err := os.WriteFile(path, b, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	line := asked[object](s, "GET", "/api/cases/1/record", nil, 200)["finish_line"].([]any)
	var pts []any
	for i := 0; i < len(line); i += 10 {
		pts = append(pts, line[i])
	}
	if r := asked[object](s, "POST", "/api/cases/1/finish-lines", object{"points": pts, "try": true}, 200); len(r["readings"].([]any)) < 10 {
		t.Errorf("%d readings made again", len(r["readings"].([]any)))
	}
}

// spoil empties the files of a folder and returns what was in them.
func spoil(t *testing.T, dir string) map[string][]byte {
	t.Helper()
	out := map[string][]byte{}
	all, err := os.ReadDir(dir)
	if err != nil || len(all) == 0 {
		t.Fatalf("%d files in %s, %v", len(all), dir, err)
	}
	for _, f := range all {
		path := filepath.Join(dir, f.Name())
		out[path] = content(t, dir, f.Name())
		if err := os.WriteFile(path, nil, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return out
}

func lineLength(l any) (sum float64) {
	pts := l.(object)["points"].([]any)
	for i := 1; i < len(pts); i++ {
		a, b := pts[i-1].([]any), pts[i].([]any)
		sum += math.Hypot(b[0].(float64)-a[0].(float64), b[1].(float64)-a[1].(float64))
	}
	return sum
}
