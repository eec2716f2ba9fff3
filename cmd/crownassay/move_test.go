package main

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"testing"

	"crownassay/internal/phantom"
)

// BenchmarkMovedPoint moves one point of the finish line of a scan of 200,000
// facets through the interface, as the page does: each move asked for over
// HTTP, the answer taken compressed and unpacked. Beside the time it reports how
// much of it measuring took, and the bytes that came.
func BenchmarkMovedPoint(b *testing.B) {
	s := serveBench(b)
	_, dir := built(b, phantom.Spec{Tooth: "46", Seed: 1, RandomPose: true, Shuffled: true, Float32: true, Noise: 0.006, Triangles: 200000})
	s.ask("POST", "/api/cases", object{"tooth": "46", "material": "zirconia-3y"}, 201)
	for _, f := range []string{"prepared", "opposing"} {
		s.upload(1, f+".stl&role="+f, content(b, dir, f+".stl"), 201)
	}
	s.measure(1)
	record := asked[object](s, "GET", "/api/cases/1/record", nil, 200)
	var pts [][]any
	for i, p := range record["finish_line"].([]any) {
		if i%16 == 0 {
			pts = append(pts, p.([]any))
		}
	}
	up := record["frame"].(object)["placement"].([]any)
	for _, try := range []bool{true, false} {
		b.Run(map[bool]string{true: "dragged", false: "let go"}[try], func(b *testing.B) {
			var took float64
			var bytes int
			for i := 0; b.Loop(); i++ {
				k, moved := i%len(pts), append([][]any{}, pts...)
				p := make([]any, 3)
				for c := range 3 {
					p[c] = pts[k][c].(float64) + 0.2*up[c].(float64)
				}
				moved[k] = p
				t, n := s.move(moved, try)
				took, bytes = took+t, bytes+n
			}
			b.ReportMetric(took/float64(b.N), "measuring-ms/op")
			b.ReportMetric(float64(bytes)/float64(b.N)/1024, "kB/op")
		})
	}
}

// move draws a line and returns how long measuring took and how many bytes the
// answer had as sent.
func (s *served) move(pts any, try bool) (ms float64, n int) {
	s.Helper()
	body, err := json.Marshal(object{"points": pts, "try": try})
	if err != nil {
		s.Fatal(err)
	}
	r, err := http.NewRequest("POST", s.URL+"/api/cases/1/finish-lines", bytes.NewReader(body))
	if err != nil {
		s.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("Accept-Encoding", "gzip")
	a, err := s.Client().Do(r)
	if err != nil {
		s.Fatal(err)
	}
	defer a.Body.Close()
	packed, err := io.ReadAll(a.Body)
	if err != nil || a.StatusCode != 200 {
		s.Fatalf("status %d, %v", a.StatusCode, err)
	}
	z, err := gzip.NewReader(bytes.NewReader(packed))
	if err != nil {
		s.Fatal(err)
	}
	var out struct {
		Took float64 `json:"took_ms"`
	}
	if err := json.NewDecoder(z).Decode(&out); err != nil {
		s.Fatal(fmt.Errorf("read the answer: %w", err))
	}
	return out.Took, len(packed)
}
