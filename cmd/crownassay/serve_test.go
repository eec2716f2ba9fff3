package main

import (
	"bytes"
	"context"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"crownassay/geom"
	"crownassay/internal/phantom"
	"crownassay/mesh"
	"crownassay/meshio"
)

// served is the real handler over a real store in a folder of the test.
type served struct {
	testing.TB
	*httptest.Server
}

func serveBench(t testing.TB) *served {
	t.Helper()
	dir := t.TempDir()
	b, err := openBench(context.Background(), dir)
	if err != nil {
		t.Fatal(err)
	}
	if err := b.work(context.Background(), dir, ""); err != nil {
		t.Fatal(err)
	}
	s := &served{t, httptest.NewServer(b.Handler(nil))}
	t.Cleanup(func() {
		s.Close()
		if err := b.close(); err != nil {
			t.Error(err)
		}
	})
	return s
}

// ask sends a request; a body that is no []byte goes as JSON. It returns the
// answer's body and fails the test on another status than wanted.
func (s *served) ask(method, path string, body any, want int) []byte {
	s.Helper()
	kind, content := "application/json", []byte(nil)
	switch b := body.(type) {
	case nil:
	case []byte:
		kind, content = "application/octet-stream", b
	default:
		var err error
		if content, err = json.Marshal(b); err != nil {
			s.Fatal(err)
		}
	}
	r, err := http.NewRequest(method, s.URL+path, bytes.NewReader(content))
	if err != nil {
		s.Fatal(err)
	}
	if body != nil {
		r.Header.Set("Content-Type", kind)
	}
	a, err := s.Client().Do(r)
	if err != nil {
		s.Fatal(err)
	}
	defer a.Body.Close()
	got, err := io.ReadAll(a.Body)
	if err != nil {
		s.Fatal(err)
	}
	if a.StatusCode != want {
		s.Fatalf("%s %s: status %d, want %d: %.300s", method, path, a.StatusCode, want, got)
	}
	return got
}

// asked is ask with the answer read from JSON.
func asked[T any](s *served, method, path string, body any, want int) (out T) {
	s.Helper()
	if err := json.Unmarshal(s.ask(method, path, body, want), &out); err != nil {
		s.Fatal(err)
	}
	return out
}

type object = map[string]any

// built is an invented case in a folder, with its truth.
func built(t testing.TB, spec phantom.Spec) (*phantom.Case, string) {
	t.Helper()
	pc, err := phantom.Build(context.Background(), spec)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	if err := pc.Write(dir); err != nil {
		t.Fatal(err)
	}
	return pc, dir
}

func content(t testing.TB, dir, file string) []byte {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(dir, file))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// upload adds a file and returns the take.
func (s *served) upload(id int, name string, b []byte, want int) object {
	s.Helper()
	return asked[object](s, "POST", fmt.Sprintf("/api/cases/%d/takes?name=%s", id, name), b, want)
}

// measure runs a job to its end and returns the events it sent.
func (s *served) measure(id int) string {
	s.Helper()
	j := asked[object](s, "POST", fmt.Sprintf("/api/cases/%d/jobs", id), nil, 202)
	return string(s.ask("GET", fmt.Sprintf("/api/jobs/%v/events", j["id"]), nil, 200))
}

// readingOf finds one in a record.
func readingOf(t *testing.T, record object, id string) object {
	t.Helper()
	for _, r := range record["readings"].([]any) {
		if r := r.(object); r["id"] == id {
			return r
		}
	}
	t.Fatalf("no reading %s", id)
	return nil
}

// TestBenchFromFilesToReadings takes one case the whole way: files in, roles
// guessed and confirmed, measured as a job, drawn, its finish line moved and
// taken back, and a new take beside the old one.
func TestBenchFromFilesToReadings(t *testing.T) {
	s := serveBench(t)
	_, dir := built(t, phantom.Spec{Tooth: "36", Seed: 12, Triangles: 60000, RandomPose: true, Crown: &phantom.Crown{Triangles: 20000},
		Defects: []phantom.Defect{{Kind: phantom.ShortClearance, Azimuth: 230, Amount: 0.62}}})
	c := asked[object](s, "POST", "/api/cases", object{"tooth": "36", "material": "zirconia-3y", "patient": "P-17"}, 201)
	if c["iso"] != "36" || c["universal"] != 19.0 {
		t.Errorf("tooth is ISO %v, Universal %v; want 36, 19", c["iso"], c["universal"])
	}
	s.ask("POST", "/api/cases/1/jobs", nil, 422) // nothing to measure yet

	for _, f := range []struct{ file, role string }{{"opposing.stl", "opposing"}, {"crown.stl", "crown"}, {"prepared.stl", "prepared"}} {
		k := s.upload(1, f.file, content(t, dir, f.file), 201)
		if k["guess"] != f.role || k["confirmed"] != false {
			t.Errorf("%s: guessed %v (%v), confirmed %v", f.file, k["guess"], k["why"], k["confirmed"])
		}
		s.ask("PUT", fmt.Sprintf("/api/cases/1/takes/%v", k["id"]), object{"role": f.role}, 200)
	}
	s.upload(1, "again.stl", content(t, dir, "crown.stl"), 200) // the take that is there

	events := s.measure(1)
	for _, want := range []string{`"step":"finding the preparation"`, `"step":"measuring: fit"`, "event: first", `"state":"done"`} {
		if !strings.Contains(events, want) {
			t.Errorf("events lack %s: %.400s", want, events)
		}
	}
	record := asked[object](s, "GET", "/api/cases/1/record", nil, 200)
	if v := readingOf(t, record, "preparation.clearance.occlusal")["value"].(float64); math.Abs(v-0.62) > 0.02 {
		t.Errorf("clearance %.3f, made as 0.62", v) // the allowed error of a clearance
	}
	t.Run("drawn", func(t *testing.T) { drawn(t, s, dir, record) })
	t.Run("line", func(t *testing.T) { movedLine(t, s, record) })
	t.Run("settings", func(t *testing.T) { judgedOtherwise(t, s, record) })
	t.Run("take", func(t *testing.T) { newTake(t, s) })
}

// drawn looks at the surface, a map and a section.
func drawn(t *testing.T, s *served, dir string, record object) {
	m := decodeMesh(t, s.ask("GET", "/api/cases/1/surfaces/prepared", nil, 200))
	f, err := meshio.Read(filepath.Join(dir, "prepared.stl"))
	if err != nil {
		t.Fatal(err)
	}
	if len(m.V) != len(f.Mesh.V) || len(m.F) != len(f.Mesh.F) {
		t.Fatalf("%d vertices and %d triangles, want %d and %d", len(m.V), len(m.F), len(f.Mesh.V), len(f.Mesh.F))
	}
	if a, b := area(m), area(f.Mesh); math.Abs(a-b) > 1e-4*b { // single precision
		t.Errorf("area %.3f, want %.3f mm2", a, b)
	}
	v := decodeMap(t, s.ask("GET", "/api/cases/1/maps/prepared/preparation.clearance.occlusal", nil, 200))
	if len(v) != len(m.V) {
		t.Fatalf("%d values for %d vertices", len(v), len(m.V))
	}
	r := readingOf(t, record, "preparation.clearance.occlusal")
	at := r["at"].(object)["point"].([]any)
	p := geom.V(at[0].(float64), at[1].(float64), at[2].(float64))
	near, best := -1, math.Inf(1)
	for i := range m.V {
		if d := m.V[i].Dist(p); d < best && !math.IsNaN(v[i]) {
			near, best = i, d
		}
	}
	// a facet's edge from the place of the reading, the map cannot show much else
	if d := v[near] - r["value"].(float64); math.Abs(d) > 0.1 {
		t.Errorf("map shows %.3f at the place of the reading, which is %.3f", v[near], r["value"])
	}
	crown := decodeMesh(t, s.ask("GET", "/api/cases/1/surfaces/crown", nil, 200))
	for _, id := range []string{"crown.thickness.occlusal", "crown.contact.mesial", "crown.contact.occlusal", "crown.fit.internal.mean"} {
		v := decodeMap(t, s.ask("GET", "/api/cases/1/maps/crown/"+id, nil, 200))
		n := 0
		for _, x := range v {
			if !math.IsNaN(x) {
				n++
			}
		}
		if len(v) != len(crown.V) || n < 50 {
			t.Errorf("%s: %d of %d vertices have a value, of %d in the mesh", id, n, len(v), len(crown.V))
		}
	}
	s.ask("GET", "/api/cases/1/maps/crown/scan.noise", nil, 404)
	section(t, s, record)
}

// section holds a slice to the finish line: at an azimuth it passes where the
// prepared surface is cut.
func section(t *testing.T, s *served, record object) {
	type line struct {
		Role   string
		Points [][2]float64
	}
	got := asked[struct {
		Origin, Right, Up [3]float64
		Lines             []line
	}](s, "GET", "/api/cases/1/slice?azimuth=90", nil, 200)
	vec := func(x [3]float64) geom.Vec { return geom.V(x[0], x[1], x[2]) }
	q := record["finish_line"].([]any)[90].([]any)
	d := geom.V(q[0].(float64), q[1].(float64), q[2].(float64)).Sub(vec(got.Origin))
	want := [2]float64{d.Dot(vec(got.Right)), d.Dot(vec(got.Up))}
	roles, best := map[string]bool{}, math.Inf(1)
	for _, l := range got.Lines {
		roles[l.Role] = true
		for _, p := range l.Points {
			if l.Role == "prepared" {
				best = math.Min(best, math.Hypot(p[0]-want[0], p[1]-want[1]))
			}
		}
	}
	if want[0] < 2 || best > 0.15 { // half a facet's edge
		t.Errorf("finish line at %.2f, %.2f of the section; nearest point of the section %.3f mm away", want[0], want[1], best)
	}
	if !roles["prepared"] || !roles["opposing"] || !roles["crown"] {
		t.Errorf("the section shows %v", roles)
	}
}

// movedLine moves a point, keeps it and takes it back.
func movedLine(t *testing.T, s *served, record object) {
	traced := record["finish_line"].([]any)
	var pts []any
	for i := 0; i < len(traced); i += 5 {
		pts = append(pts, traced[i])
	}
	up := record["frame"].(object)["placement"].([]any)
	p := pts[10].([]any)
	pts[10] = []any{p[0].(float64) + 0.3*up[0].(float64), p[1].(float64) + 0.3*up[1].(float64), p[2].(float64) + 0.3*up[2].(float64)}
	try := asked[object](s, "POST", "/api/cases/1/finish-lines", object{"points": pts, "try": true}, 200)
	if n := len(asked[object](s, "GET", "/api/cases/1/finish-lines", nil, 200)["lines"].([]any)); n != 0 || try["line"] != 0.0 {
		t.Errorf("a line that was only tried was kept: %d lines", n)
	}
	kept := asked[object](s, "POST", "/api/cases/1/finish-lines", object{"points": pts, "who": "AB"}, 200)
	lines := asked[object](s, "GET", "/api/cases/1/finish-lines", nil, 200)["lines"].([]any)
	if len(lines) != 1 || lines[0].(object)["who"] != "AB" || kept["line"] != lines[0].(object)["id"] {
		t.Errorf("kept as %v: %v", kept["line"], lines)
	}
	changes := asked[object](s, "GET", "/api/cases/1/changes", nil, 200)["changes"].([]any)
	if len(changes) == 0 {
		t.Error("nothing changed")
	}
	undone := asked[object](s, "DELETE", "/api/cases/1/finish-lines/last", nil, 200)
	for _, id := range []string{"finish_line.length", "crown.fit.marginal_gap.max"} {
		was, moved, back := readingOf(t, record, id)["value"], readingOf(t, kept, id)["value"], readingOf(t, undone, id)["value"]
		if was == moved || was != back {
			t.Errorf("%s: %v traced, %v moved, %v taken back", id, was, moved, back)
		}
	}
	s.ask("POST", "/api/cases/1/finish-lines", object{"points": [][3]float64{{900, 0, 0}, {901, 0, 0}, {900, 1, 0}}}, 422)
}

// judgedOtherwise changes how the crown is judged and made: the room for the material
// falls by what the cement space grows, and the practice's own limit holds.
func judgedOtherwise(t *testing.T, s *served, record object) {
	change := object{"tooth": "36", "material": "zirconia-3y", "patient": "P-17", "cement_space_um": 160, "tool_radius_um": 400, "block": "block-16",
		"limits_file": `own\practice.yaml`, "limits": "rows:\n  - {reading: preparation.clearance.occlusal, material: zirconia-3y, tooth: molar, min: 0.5, source: our remakes}\n"}
	kept := asked[object](s, "PUT", "/api/cases/1", change, 200)
	if kept["limits_file"] != "practice.yaml" || kept["block"] != "block-16" || kept["tool_radius_um"] != 400.0 {
		t.Errorf("kept as %v", kept)
	}
	if e := s.measure(1); !strings.Contains(e, `"state":"done"`) {
		t.Fatalf("not measured: %s", e)
	}
	now := asked[object](s, "GET", "/api/cases/1/record", nil, 200)
	was := record["settings"].(object)["cement_space"].(float64)
	a, b := readingOf(t, record, "preparation.room")["value"].(float64), readingOf(t, now, "preparation.room")["value"].(float64)
	if math.Abs(a-b-(0.160-was)) > 1e-6 { // room is clearance less cement space less thickness
		t.Errorf("room %.3f with a cement space of %.3f mm, %.3f with 0.160", a, was, b)
	}
	if r := readingOf(t, now, "preparation.clearance.occlusal"); r["limit"].(object)["min"] != 0.5 || r["limit"].(object)["source"] != "our remakes" {
		t.Errorf("limit %v, want the practice's own 0.5", r["limit"])
	}
	for _, bad := range []struct{ key, value, says string }{
		{"limits", "rows:\n  - {reading: no.such, min: 1, source: x}\n", "practice.yaml:2"}, {"block", "no-such", "block-16"}} {
		no := object{}
		for k, v := range change {
			no[k] = v
		}
		no[bad.key] = bad.value
		if said := string(s.ask("PUT", "/api/cases/1", no, 422)); !strings.Contains(said, bad.says) {
			t.Errorf("%s %q is refused with %s, which does not say %s", bad.key, bad.value, said, bad.says)
		}
	}
	s.ask("PUT", "/api/cases/1", object{"tooth": "36", "material": "zirconia-3y", "patient": "P-17"}, 200)
}

// newTake scans the tooth again after the cusp was reduced.
func newTake(t *testing.T, s *served) {
	_, dir := built(t, phantom.Spec{Tooth: "36", Seed: 12, Triangles: 60000, RandomPose: true, Crown: &phantom.Crown{Triangles: 20000}})
	k := s.upload(1, "prepared2.stl", content(t, dir, "prepared.stl"), 201)
	s.ask("PUT", fmt.Sprintf("/api/cases/1/takes/%v", k["id"]), object{"role": "prepared"}, 200)
	if e := s.measure(1); !strings.Contains(e, `"state":"done"`) {
		t.Fatalf("not measured: %s", e)
	}
	ch := asked[object](s, "GET", "/api/cases/1/changes", nil, 200)
	if takes := ch["takes"].([]any); len(takes) != 1 || takes[0].(object)["file"] != "prepared2.stl" {
		t.Errorf("new takes: %v", takes)
	}
	for _, x := range ch["changes"].([]any) {
		if x := x.(object); x["reading"] == "preparation.clearance.occlusal" {
			if x["old"].(float64) > 0.65 || x["new"].(float64) < 0.9 {
				t.Errorf("clearance %v -> %v, want about 0.62 -> 1 or more", x["old"], x["new"])
			}
			return
		}
	}
	t.Error("the clearance did not change")
}

func area(m *mesh.Mesh) (a float64) {
	for f := range m.F {
		a += geom.TriangleArea(m.Corner(int32(f)))
	}
	return a
}

// decodeMesh reads the mesh form as web's binary.go describes it.
func decodeMesh(t *testing.T, b []byte) *mesh.Mesh {
	t.Helper()
	if len(b) < 16 || string(b[:4]) != "CAM1" {
		t.Fatalf("no mesh: %.40q", b)
	}
	n, k := int(binary.LittleEndian.Uint32(b[4:])), int(binary.LittleEndian.Uint32(b[8:]))
	if len(b) != 16+12*n+12*k {
		t.Fatalf("%d bytes for %d vertices and %d triangles", len(b), n, k)
	}
	m := &mesh.Mesh{V: make([]geom.Vec, n), F: make([][3]int32, k)}
	v := floats(b[16 : 16+12*n])
	for i := range m.V {
		m.V[i] = geom.V(v[3*i], v[3*i+1], v[3*i+2])
	}
	for i := range m.F {
		for c := range 3 {
			m.F[i][c] = int32(binary.LittleEndian.Uint32(b[16+12*n+4*(3*i+c):]))
		}
	}
	return m
}

func decodeMap(t *testing.T, b []byte) []float64 {
	t.Helper()
	if len(b) < 16 || string(b[:4]) != "CAV1" || len(b) != 16+4*int(binary.LittleEndian.Uint32(b[4:])) {
		t.Fatalf("no map: %.40q of %d bytes", b, len(b))
	}
	return floats(b[16:])
}

func floats(b []byte) []float64 {
	out := make([]float64, len(b)/4)
	for i := range out {
		out[i] = float64(math.Float32frombits(binary.LittleEndian.Uint32(b[4*i:])))
	}
	return out
}
