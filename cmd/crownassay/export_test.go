package main

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"crownassay/meshio"
)

// TestExport writes a case with a crown in every format.
func TestExport(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "case")
	if s, _, errs := call(t, "phantom", dir, "--crown", "--triangles", "20000"); s != 0 {
		t.Fatal(errs)
	}
	if s, _, errs := call(t, "assay", dir, "--keep", "--who", "AB"); s > 1 {
		t.Fatal(errs)
	}
	wrote := func(format string, more ...string) []byte {
		t.Helper()
		name := filepath.Join(t.TempDir(), "out."+format)
		if s, _, errs := call(t, append([]string{"export", dir, "--format", format, "--out", name}, more...)...); s != 0 {
			t.Fatalf("%s: %s", format, errs)
		}
		b, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	doc := wrote("json")
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(doc))
	if err != nil {
		t.Fatal(err)
	}
	if err := jsonschema.NewCompiler().MustCompile("../../record/record.schema.json").Validate(v); err != nil {
		t.Error(err)
	}
	n := strings.Count(string(doc), `"hold_point":`)
	rows, err := csv.NewReader(bytes.NewReader(wrote("csv"))).ReadAll()
	if err != nil || len(rows) != n+1 || n < 40 {
		t.Errorf("the table has %d rows, %v, for %d readings", len(rows), err, n)
	}
	var b struct {
		ResourceType string
		Entry        []struct {
			Resource struct{ ResourceType string }
		}
	}
	if err := json.Unmarshal(wrote("fhir"), &b); err != nil || b.ResourceType != "Bundle" || len(b.Entry) != n+4 {
		t.Errorf("the bundle has %d entries, %v, for %d readings, patient, program, procedure and report", len(b.Entry), err, n)
	}
	f, err := meshio.Decode(wrote("ply", "--reading", "crown.thickness.occlusal"), "out.ply")
	if err != nil || len(f.Mesh.F) < 1000 {
		t.Errorf("the coloured surface cannot be read: %v", err)
	}
	if g := wrote("glb"); !bytes.HasPrefix(g, []byte("glTF")) {
		t.Errorf("no GLB: %q", g[:8])
	}
	for want, args := range map[string][]string{
		"this case has no values of it at each vertex; it has them of preparation.": {"--format", "glb", "--reading", "preparation.height.min"},
		"only glb and ply show one reading":                                         {"--format", "csv", "--reading", "x"},
	} {
		if s, _, errs := call(t, append([]string{"export", dir, "--out", filepath.Join(dir, "x")}, args...)...); s != 2 || !strings.Contains(errs, want) {
			t.Errorf("export %v: %d, %s", args, s, errs)
		}
	}
}
