package web

import (
	"bytes"
	"encoding/json"
	"flag"
	"net/http"
	"os"
	"regexp"
	"slices"
	"testing"

	"github.com/danielgtaylor/huma/v2"
)

var update = flag.Bool("update", false, "write openapi.json anew")

// openAPI is the description that the operations make.
func openAPI(t *testing.T) []byte {
	t.Helper()
	made, err := newAPI(http.NewServeMux(), &Bench{}).OpenAPI().MarshalJSON()
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := json.Indent(&b, made, "", " "); err != nil {
		t.Fatal(err)
	}
	b.WriteByte('\n')
	return b.Bytes()
}

// TestOpenAPI holds the description that is checked in, and that the page's
// client is made from, to the operations.
func TestOpenAPI(t *testing.T) {
	made := openAPI(t)
	if *update {
		if err := os.WriteFile("openapi.json", made, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	have, err := os.ReadFile("openapi.json")
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(made, have) {
		t.Error("openapi.json differs from the operations: go generate ./web")
	}
}

// TestPathParameters: a name in a path is a parameter of its operation (OpenAPI
// 3.1, "Path Templating"); one that is not described is never read.
func TestPathParameters(t *testing.T) {
	named := regexp.MustCompile(`\{(\w+)\}`)
	for path, item := range newAPI(http.NewServeMux(), &Bench{}).OpenAPI().Paths {
		for _, op := range []*huma.Operation{item.Get, item.Put, item.Post, item.Delete} {
			if op == nil {
				continue
			}
			for _, m := range named.FindAllStringSubmatch(path, -1) {
				if !slices.ContainsFunc(op.Parameters, func(p *huma.Param) bool { return p.In == "path" && p.Name == m[1] }) {
					t.Errorf("%s %s: {%s} is no parameter", op.Method, path, m[1])
				}
			}
		}
	}
}
