package yamldoc

import (
	"errors"
	"fmt"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
)

// MaxBytes is the largest document that is read: hand-written files have a
// few kilobytes, and a scan named in place of one must not be parsed.
const MaxBytes = 1 << 20

// Doc is a parsed document.
type Doc struct {
	name string
	file *ast.File
}

// Error is a fault at a line of a document; Line is 0 where there is none.
type Error struct {
	File       string
	Line       int
	What, Hint string
}

func (e *Error) Error() string {
	s := e.File
	if e.Line > 0 {
		s += fmt.Sprintf(":%d", e.Line)
	}
	s += ": " + e.What
	if e.Hint != "" {
		s += "; " + e.Hint
	}
	return s
}

// Parse reads a document; name is the file's name for messages.
func Parse(name string, b []byte) (d *Doc, err error) {
	if len(b) > MaxBytes {
		return nil, &Error{name, 0, "read YAML: the file is larger than 1 MB", "give the text file, not a mesh"}
	}
	f, err := parser.ParseBytes(b, 0)
	if err != nil {
		return nil, located(name, err, "check the indentation and the colons at this line")
	}
	if len(f.Docs) != 1 || f.Docs[0].Body == nil {
		return nil, &Error{name, 0, "read YAML: there is not exactly one document in the file", "see the README for an example"}
	}
	return &Doc{name, f}, nil
}

// located turns an error of the YAML library into an Error with its line.
func located(name string, err error, hint string) *Error {
	e := &Error{File: name, What: "read YAML: " + err.Error(), Hint: hint}
	var y yaml.Error
	if errors.As(err, &y) {
		e.What = "read YAML: " + y.GetMessage()
		if t := y.GetToken(); t != nil && t.Position != nil {
			e.Line = t.Position.Line
		}
	}
	return e
}

// Decode fills v from the document; fields unknown to v are refused.
func (d *Doc) Decode(v any) error {
	if err := yaml.NodeToValue(d.file.Docs[0].Body, v, yaml.Strict()); err != nil {
		return located(d.name, err, "see the README for the fields")
	}
	return nil
}

// Fault returns an Error at the place of the document that the keys lead to:
// strings for fields, numbers for items.
func (d *Doc) Fault(what, hint string, keys ...string) error {
	return &Error{d.name, d.line(keys), what, hint}
}

// line returns the line of the deepest node on the way that there is.
func (d *Doc) line(keys []string) int {
	node, line := d.file.Docs[0].Body, 0
	for {
		if t := node.GetToken(); t != nil && t.Position != nil {
			line = t.Position.Line
		}
		if len(keys) == 0 {
			return line
		}
		next, at := step(node, keys[0])
		if next == nil {
			return line
		}
		if at > 0 && len(keys) == 1 {
			return at
		}
		node, keys = next, keys[1:]
	}
}

// step follows one key; at is the line of the key itself in a mapping.
func step(node ast.Node, key string) (next ast.Node, at int) {
	switch n := node.(type) {
	case *ast.MappingNode:
		for _, kv := range n.Values {
			if kv.Key.GetToken().Value == key {
				return kv.Value, kv.Key.GetToken().Position.Line
			}
		}
	case *ast.MappingValueNode:
		if n.Key.GetToken().Value == key {
			return n.Value, n.Key.GetToken().Position.Line
		}
	case *ast.SequenceNode:
		var i int
		if _, err := fmt.Sscan(key, &i); err == nil && i >= 0 && i < len(n.Values) {
			return n.Values[i], 0
		}
	}
	return nil, 0
}
