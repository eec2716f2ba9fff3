package yamldoc

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"sort"
	"strings"

	"github.com/goccy/go-yaml"
	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/santhosh-tekuri/jsonschema/v6/kind"
	"golang.org/x/text/language"
	"golang.org/x/text/message"
)

// Compile makes a schema from its JSON text. It panics on a faulty one, since
// schemas are part of the program.
func Compile(text []byte) *jsonschema.Schema {
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		panic(fmt.Sprintf("read schema: %v", err))
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("schema.json", v); err != nil {
		panic(fmt.Sprintf("add schema: %v", err))
	}
	return c.MustCompile("schema.json")
}

// Validate checks the document against the schema and returns the first fault
// in the order of lines, with the hint that the schema's description gives for
// the field.
func (d *Doc) Validate(s *jsonschema.Schema) error {
	var v any
	if err := yaml.NodeToValue(d.file.Docs[0].Body, &v); err != nil {
		return located(d.name, err, "see the README for the fields")
	}
	err := s.Validate(v)
	var ve *jsonschema.ValidationError
	if err == nil {
		return nil
	}
	if !errors.As(err, &ve) {
		return &Error{d.name, 0, "check YAML: " + err.Error(), ""}
	}
	faults := d.faults(ve, s, nil)
	sort.SliceStable(faults, func(i, j int) bool { return faults[i].Line < faults[j].Line })
	return faults[0]
}

// faults collects the leaves of the tree of validation errors.
func (d *Doc) faults(e *jsonschema.ValidationError, s *jsonschema.Schema, out []*Error) []*Error {
	for _, c := range e.Causes {
		out = d.faults(c, s, out)
	}
	if len(e.Causes) > 0 {
		return out
	}
	keys, what, hint := explain(e, s)
	name := strings.Join(keys, ".")
	if name != "" {
		what = name + ": " + what
	}
	return append(out, &Error{d.name, d.line(keys), what, hint})
}

// explain puts one validation error into the keys of the field, what is wrong
// with it and a hint.
func explain(e *jsonschema.ValidationError, s *jsonschema.Schema) (keys []string, what, hint string) {
	keys, hint = e.InstanceLocation, "see the README for the fields"
	what = e.ErrorKind.LocalizedString(message.NewPrinter(language.English))
	asked := keys
	switch k := e.ErrorKind.(type) {
	case *kind.AdditionalProperties:
		keys = append(slices.Clone(keys), k.Properties[0])
		return keys, fmt.Sprintf("unknown field %q", k.Properties[0]), hint
	case *kind.Required:
		asked = append(slices.Clone(keys), k.Missing[0])
		what = fmt.Sprintf("%s is missing", k.Missing[0])
	case *kind.InvalidJsonValue:
		what = "no finite number"
	}
	if text := describe(s, asked); text != "" {
		hint = "it is " + text
	}
	return keys, what, hint
}

// describe returns the description of the field that keys lead to.
func describe(s *jsonschema.Schema, keys []string) string {
	for _, k := range keys {
		next := s.Properties[k]
		if next == nil {
			next = s.Items2020
		}
		if next == nil {
			break
		}
		s = next
	}
	if len(keys) == 0 {
		return ""
	}
	return s.Description
}
