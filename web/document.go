package web

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"crownassay/record"
)

// Pieces of a record's JSON document, passed on as they are under the schemas
// that the document has for them.
type (
	frameDocument   []byte
	lineDocument    []byte
	readingDocument []byte
)

// MarshalJSON returns the piece's bytes.
func (d frameDocument) MarshalJSON() ([]byte, error) { return d, nil }

// MarshalJSON returns the piece's bytes.
func (d lineDocument) MarshalJSON() ([]byte, error) { return d, nil }

// MarshalJSON returns the piece's bytes.
func (d readingDocument) MarshalJSON() ([]byte, error) { return d, nil }

// Schema names the schema of the piece.
func (frameDocument) Schema(r huma.Registry) *huma.Schema { return property(r, "frame") }

// Schema names the schema of the piece.
func (lineDocument) Schema(r huma.Registry) *huma.Schema { return property(r, "finish_line") }

// Schema names the schema of the piece.
func (readingDocument) Schema(r huma.Registry) *huma.Schema {
	return &huma.Schema{Ref: schemaPrefix + "RecordReading"}
}

// property is the schema of a property of the record.
func property(r huma.Registry, name string) *huma.Schema {
	all, _ := r.Map()["Record"].Extensions["properties"].(map[string]any)
	return &huma.Schema{Extensions: all[name].(map[string]any)}
}

const schemaPrefix = "#/components/schemas/"

// addRecordSchema puts the record's own schema, which is the contract, among
// the components: itself as Record, each of its definitions as Record...
func addRecordSchema(r huma.Registry) {
	text := bytes.ReplaceAll(record.Schema, []byte(`"#/$defs/`), []byte(`"`+schemaPrefix+`Record.`))
	var all map[string]any
	if err := json.Unmarshal(text, &all); err != nil {
		panic(fmt.Sprintf("read the record's schema: %v", err)) // it is part of the program
	}
	defs, _ := all["$defs"].(map[string]any)
	delete(all, "$defs")
	delete(all, "$schema")
	r.Map()["Record"] = &huma.Schema{Extensions: renamed(all).(map[string]any)}
	for name, d := range defs {
		r.Map()["Record"+capital(name)] = &huma.Schema{Extensions: renamed(d).(map[string]any)}
	}
}

// renamed returns the value with references to Record.name as RecordName.
func renamed(v any) any {
	switch x := v.(type) {
	case map[string]any:
		for _, k := range slices.Sorted(maps.Keys(x)) {
			x[k] = renamed(x[k])
		}
	case []any:
		for i := range x {
			x[i] = renamed(x[i])
		}
	case string:
		if name, ok := strings.CutPrefix(x, schemaPrefix+"Record."); ok {
			return schemaPrefix + "Record" + capital(name)
		}
	}
	return v
}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// summary is what a list of cases tells of a document.
func summary(document []byte) (v VerdictsOutput, headline string) {
	var d struct {
		Headline string `json:"headline"`
		Readings []struct {
			Verdict string `json:"verdict"`
		} `json:"readings"`
	}
	if json.Unmarshal(document, &d) != nil {
		return v, ""
	}
	for _, r := range d.Readings {
		switch r.Verdict {
		case "fails":
			v.Fails++
		case "undecided":
			v.Undecided++
		case "unmeasured":
			v.Unmeasured++
		case "conforms":
			v.Conforms++
		case "informs":
			v.Informs++
		}
	}
	return v, d.Headline
}
