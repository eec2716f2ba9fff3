package record

import (
	"bytes"
	"encoding/json"
	"flag"
	"maps"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"

	"crownassay/reading"
	"crownassay/unit"
)

// schemaFile is made from the types of the document by go generate.
const schemaFile = "record.schema.json"

// object is a JSON object; encoding sorts its keys.
type object = map[string]any

// limits of what the types alone do not say, by the place in the document.
var closer = map[string]string{
	"format":                          `{"const": "crownassay/1"}`,
	"tooth":                           `{"type": "string", "pattern": "^[1-9][0-9]?$"}`,
	"numbering":                       `{"enum": ["iso3950", "universal"]}`,
	"material":                        `{"minLength": 1}`,
	"surfaces.role":                   `{"enum": ["prepared", "opposing", "before", "crown", "finished", "seated"]}`,
	"surfaces.file":                   `{"minLength": 1}`,
	"surfaces.sha256":                 `{"pattern": "^[0-9a-f]{64}$"}`,
	"surfaces.triangles":              `{"minimum": 0}`,
	"surfaces.unit":                   `{"enum": ["mm", "um", "cm", "m", "in"]}`,
	"settings.cement_space":           `{"description": "mm"}`,
	"settings.least_thickness":        `{"description": "of the material, mm"}`,
	"settings.scanner_uncertainty_um": `{"description": "expanded, of one surface over one tooth"}`,
	"settings.scanner_stated":         `{"description": "whether the case stated it; else it is from scanner_from, or the default"}`,
	"settings.scanner_from":           `{"description": "the check of the scanner on a reference body that it is from; absent if there is none"}`,
	"settings.limits":                 `{"description": "the practice's own limits file, or empty"}`,
	"frame":                           `{"description": "null when no frame was found"}`,
	"frame.zero":                      `{"description": "direction of azimuth 0; arbitrary where mesial is null"}`,
	"frame.turn":                      `{"description": "direction of azimuth 90"}`,
	"finish_line":                     `{"description": "closed, without a repeated end"}`,
	"readings":                        `{"description": "worst first within each hold point"}`,
	"headline":                        `{"minLength": 1}`,
	"limit.source":                    `{"minLength": 1}`,
	"limit.status":                    `{"enum": ["read", "memory", "computed", "common practice", "practice"]}`,
	"limit":                           `{"anyOf": [{"required": ["min"]}, {"required": ["max"]}]}`,
	"limit.min":                       `{"type": "number"}`,
	"limit.max":                       `{"type": "number"}`,
	"reading.id":                      `{"type": "string", "pattern": "^[a-z_]+(\\.[a-z_]+)+$"}`,
	"reading.name":                    `{"minLength": 1}`,
	"reading.value":                   `{"description": "null when unmeasured"}`,
	"reading.uncertainty":             `{"description": "expanded, k = 2; null when unmeasured"}`,
	"reading.parts.name":              `{"minLength": 1}`,
	"reading.parts.standard":          `{"minimum": 0}`,
	"reading.profile.azimuth":         `{"minimum": 0, "exclusiveMaximum": 360}`,
	"reading.profile.value":           `{"type": ["number", "null"]}`,
	"reading.subs.name":               `{"minLength": 1}`,
	"reading.subs.value":              `{"type": ["number", "null"]}`,
	"reading.subs.uncertainty":        `{"type": "number", "minimum": 0, "description": "expanded, k = 2, of a zone's value, with what its border adds"}`,
	"reading.conformance":             `{"type": "number", "minimum": 0, "maximum": 1, "description": "probability that the value which decided conforms"}`,
	"reading.budget":                  `{"description": "with --budget only"}`,
	"settings.rule":                   `{"enum": ["guard", "simple", "probability"], "description": "left out for the guard band"}`,
	"budget":                          `{"description": "how the readings were drawn again, with --budget only; standard deviations of noise and distortion in um"}`,
	"reading.reason":                  `{"description": "why the reading is unmeasured, else empty"}`,
	"reading.next":                    `{"description": "one sentence of next step, or empty"}`,
	"reading": `{"allOf": [{"if": {"properties": {"verdict": {"const": "unmeasured"}}},
		"then": {"properties": {"value": {"type": "null"}, "uncertainty": {"type": "null"}, "reason": {"minLength": 1}}},
		"else": {"properties": {"value": {"type": "number"}, "uncertainty": {"type": "number"}, "reason": {"maxLength": 0}}}}]}`,
}

// maker makes a schema from types. Used notes which entries of closer were.
type maker struct {
	t    *testing.T
	used map[string]bool
}

// named are the types that have a definition of their own.
var named = map[reflect.Type]string{
	reflect.TypeFor[vec](): "vector", reflect.TypeFor[unit.Unit](): "unit", reflect.TypeFor[reading.Verdict](): "verdict",
	reflect.TypeFor[*limitJSON](): "limit", reflect.TypeFor[*placeJSON](): "place", reflect.TypeFor[readingJSON](): "reading",
}

// of is the schema of a type at a place in the document.
func (m *maker) of(t reflect.Type, at string) object {
	if n, ok := named[t]; ok {
		return m.close(object{"$ref": "#/$defs/" + n}, at)
	}
	return m.close(m.whole(t, at), at)
}

// whole is the schema of a type itself, never a reference to it.
func (m *maker) whole(t reflect.Type, at string) object {
	sectors := []any{}
	for _, s := range reading.Sectors {
		sectors = append(sectors, s)
	}
	switch {
	case t == reflect.TypeFor[num]():
		return object{"type": "number"}
	case t == reflect.TypeFor[*num]():
		return object{"type": []any{"number", "null"}}
	case t == reflect.TypeFor[*string]():
		return object{"enum": append(sectors, nil)} // the one optional text is a sector
	case t == reflect.TypeFor[reading.HoldPoint]():
		return enum(holdPoints...)
	case t.Kind() == reflect.Pointer:
		return object{"oneOf": []any{object{"type": "null"}, m.of(t.Elem(), "")}}
	case t.Kind() == reflect.Slice:
		return object{"type": "array", "items": m.of(t.Elem(), at+"[]")}
	case t.Kind() == reflect.Struct:
		return m.structure(t, at)
	}
	return object{"type": map[reflect.Kind]string{reflect.String: "string", reflect.Int: "integer", reflect.Uint64: "integer", reflect.Bool: "boolean"}[t.Kind()]}
}

// structure is the schema of an object: every property is there but those that
// may be left out, and none beside them.
func (m *maker) structure(t reflect.Type, at string) object {
	at = strings.ReplaceAll(at, "[]", "")
	if at != "" {
		at += "."
	}
	props, required := object{}, []any{}
	for i := range t.NumField() {
		name, opt, _ := strings.Cut(t.Field(i).Tag.Get("json"), ",")
		props[name] = m.of(t.Field(i).Type, at+name)
		if opt == "" {
			required = append(required, name)
		}
	}
	return object{"type": "object", "additionalProperties": false, "required": required, "properties": props}
}

// close adds what the types do not say.
func (m *maker) close(o object, at string) object {
	text, ok := closer[at]
	if !ok {
		return o
	}
	m.used[at] = true
	var more object
	if err := json.Unmarshal([]byte(text), &more); err != nil {
		m.t.Fatalf("%s: %v", at, err)
	}
	if more["enum"] != nil || more["const"] != nil {
		delete(o, "type")
	}
	maps.Copy(o, more)
	return o
}

func enum[T ~string](all ...T) object {
	out := []any{}
	for _, x := range all {
		out = append(out, string(x))
	}
	return object{"enum": out}
}

// units are those of the table of measurands and of the further values.
func units() []unit.Unit {
	return []unit.Unit{unit.Millimetre, unit.SquareMillimetre, unit.Degree, unit.Percent, unit.Newton, unit.One}
}

// made is the whole schema.
func made(t *testing.T) []byte {
	t.Helper()
	m := &maker{t, map[string]bool{}}
	o := m.of(reflect.TypeFor[document](), "")
	o["properties"].(object)["frame"] = m.close(object{"oneOf": []any{object{"type": "null"}, m.structure(reflect.TypeFor[frameJSON](), "frame")}}, "frame")
	optional := func(t reflect.Type, at string) object {
		return object{"oneOf": []any{object{"type": "null"}, m.close(m.structure(t, at), at)}}
	}
	o["$schema"] = "https://json-schema.org/draft/2020-12/schema"
	o["title"] = "The record of one run of crownassay"
	o["description"] = "Lengths are millimetres, angles degrees, uncertainties expanded with k = 2 unless they are called standard."
	o["$defs"] = object{
		"vector":  object{"type": "array", "minItems": 3, "maxItems": 3, "items": object{"type": "number"}},
		"verdict": enum(reading.Conforms, reading.Fails, reading.Undecided, reading.Unmeasured, reading.Informs),
		"unit":    enum(units()...),
		"limit":   optional(reflect.TypeFor[limitJSON](), "limit"),
		"place":   optional(reflect.TypeFor[placeJSON](), "place"),
		"reading": m.close(m.structure(reflect.TypeFor[readingJSON](), "reading"), "reading"),
	}
	for at := range closer {
		if !m.used[at] {
			t.Errorf("nothing of the document is at %s", at)
		}
	}
	b, err := json.MarshalIndent(o, "", "  ")
	if err != nil {
		t.Fatal(err)
	}
	return append(b, '\n')
}

// TestSchema holds the published schema to the types of the document.
func TestSchema(t *testing.T) {
	want := made(t)
	if f := flag.Lookup("update"); f != nil && f.Value.String() == "true" {
		if err := os.WriteFile(schemaFile, want, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if !bytes.Equal(want, Schema) {
		t.Errorf("%s differs from the document's types: go generate ./record", schemaFile)
	}
}

// Every measurand's unit is one that the schema knows.
func TestSchemaKnowsEveryUnit(t *testing.T) {
	for _, m := range reading.Measurands {
		if !slices.Contains(units(), m.Unit) {
			t.Errorf("%s: the schema does not know its unit %q", m.ID, m.Unit)
		}
	}
}
