package yamldoc

import (
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
)

const schema = `{"type":"object","additionalProperties":false,"required":["name"],"properties":{
 "name":{"type":"string","description":"the name, in quotes"},
 "rows":{"type":"array","items":{"type":"object","additionalProperties":false,"properties":{"min":{"type":"number","description":"the lower limit"}}}}}}`

func TestFaults(t *testing.T) {
	s := Compile([]byte(schema))
	for _, c := range []struct{ in, want string }{
		{"name: a\nrows:\n  - min: 1\n  - min: two\n", "f.yaml:4: rows.1.min: got string, want number; it is the lower limit"},
		{"name: a\n\ncolour: red\n", "f.yaml:3: colour: unknown field \"colour\"; see the README for the fields"},
		{"name: a\nrows:\n  - min: 1\n    max: 2\n", "f.yaml:4: rows.0.max: unknown field \"max\"; see the README for the fields"},
		{"rows: []\n", "f.yaml:1: name is missing; it is the name, in quotes"},
		{"name: 3\n", "f.yaml:1: name: got number, want string; it is the name, in quotes"},
		{"- a\n", "f.yaml:1: got array, want object; see the README for the fields"},
		{"", "f.yaml: read YAML: there is not exactly one document in the file; see the README for an example"},
		{"name: a\nname: b\n", "f.yaml:2: read YAML: mapping key \"name\" already defined at [1:1]; check the indentation and the colons at this line"},
		{"name: [a\n", "f.yaml:1: read YAML: sequence end token ']' not found; check the indentation and the colons at this line"},
		{"name: a\n", ""},
	} {
		if got := fault(c.in, s); got != c.want {
			t.Errorf("%q:\n got %s\nwant %s", c.in, got, c.want)
		}
	}
}

func fault(in string, s *jsonschema.Schema) string {
	d, err := Parse("f.yaml", []byte(in))
	if err == nil {
		err = d.Validate(s)
	}
	if err == nil {
		return ""
	}
	return err.Error()
}

func FuzzParse(f *testing.F) {
	s := Compile([]byte(schema))
	f.Add("name: a\nrows:\n  - min: 1\n")
	f.Add("? [a]\n: &x *x\n")
	f.Fuzz(func(t *testing.T, in string) { fault(in, s) })
}
