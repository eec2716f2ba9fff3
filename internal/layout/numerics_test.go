package layout

import (
	"flag"
	"fmt"
	"go/ast"
	"go/parser"
	"go/printer"
	"go/token"
	"os"
	"path/filepath"
	"sort"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write the table of constants in docs/NUMERICS.md anew")

// numericPackages are those whose constants docs/NUMERICS.md must list.
var numericPackages = []string{"geom", "mesh", "bvh", "curvature", "align", "finishline", "measure", "conformity", "fit", "gauge", "practice/visit", "practice", "practice/settings", "practice/survival", "spc"}

// tableMarks enclose the generated table.
const (
	tableStart = "<!-- constants: made by go test ./internal/layout -run TestNumerics -update -->\n"
	tableEnd   = "<!-- end of constants -->\n"
)

// TestNumerics holds the table in docs/NUMERICS.md to the source: every numeric
// constant of the measuring packages with its value and what its comment says.
// A constant without a comment fails.
func TestNumerics(t *testing.T) {
	path := filepath.Join("..", "..", "docs", "NUMERICS.md")
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	head, rest, ok1 := strings.Cut(string(data), tableStart)
	_, tail, ok2 := strings.Cut(rest, tableEnd)
	if !ok1 || !ok2 {
		t.Fatalf("%s has no table of constants between its marks", path)
	}
	want := head + tableStart + constantsTable(t) + tableEnd + tail
	if *update {
		if err := os.WriteFile(path, []byte(want), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if want == string(data) {
		return
	}
	have := map[string]bool{}
	for _, l := range strings.Split(string(data), "\n") {
		have[l] = true
	}
	for _, l := range strings.Split(want, "\n") {
		if !have[l] {
			t.Errorf("not in docs/NUMERICS.md: %s", l)
		}
	}
	t.Error("docs/NUMERICS.md differs from the source: go test ./internal/layout -run TestNumerics -update")
}

func constantsTable(t *testing.T) string {
	var b strings.Builder
	b.WriteString("\n| package | name | value | what it is, where it comes from, what goes wrong when it is off |\n|---|---|---|---|\n")
	for _, pkg := range numericPackages {
		for _, c := range constantsOf(t, pkg) {
			if c.text == "" {
				t.Errorf("%s: constant %s has no comment", pkg, c.name)
			}
			fmt.Fprintf(&b, "| %s | `%s` | %s | %s |\n", pkg, c.name, c.value, strings.ReplaceAll(c.text, "|", `\|`))
		}
	}
	return b.String() + "\n"
}

type constant struct{ name, value, text string }

// constantsOf returns the numeric constants of a package, in functions too, in
// the order of files and lines.
func constantsOf(t *testing.T, pkg string) []constant {
	files, err := filepath.Glob(filepath.Join("..", "..", pkg, "*.go"))
	if err != nil {
		t.Fatal(err)
	}
	sort.Strings(files)
	var out []constant
	for _, f := range files {
		if strings.HasSuffix(f, "_test.go") {
			continue
		}
		fset := token.NewFileSet()
		file, err := parser.ParseFile(fset, f, nil, parser.ParseComments)
		if err != nil {
			t.Fatal(err)
		}
		within := ""
		ast.Inspect(file, func(n ast.Node) bool {
			if f, ok := n.(*ast.FuncDecl); ok {
				within = f.Name.Name
			}
			if d, ok := n.(*ast.GenDecl); ok && d.Tok == token.CONST {
				out = append(out, constantsIn(fset, file, d, within)...)
			}
			return true
		})
	}
	return out
}

// constantsIn returns the numeric constants of one declaration. Enumerations,
// which have a type of their own, are none.
func constantsIn(fset *token.FileSet, file *ast.File, d *ast.GenDecl, within string) []constant {
	var out []constant
	for _, s := range d.Specs {
		v := s.(*ast.ValueSpec)
		for i, name := range v.Names {
			if v.Type != nil || i >= len(v.Values) || !numeric(v.Values[i]) {
				continue
			}
			var value strings.Builder
			_ = printer.Fprint(&value, fset, v.Values[i]) // a strings.Builder takes everything
			out = append(out, constant{name.Name, value.String(), comment(fset, file, d, v, within)})
		}
	}
	return out
}

// numeric reports whether an expression is built of numbers: no string, no iota.
func numeric(e ast.Expr) bool {
	number := false
	ok := true
	ast.Inspect(e, func(n ast.Node) bool {
		switch x := n.(type) {
		case *ast.BasicLit:
			number = number || x.Kind == token.INT || x.Kind == token.FLOAT
			ok = ok && x.Kind != token.STRING
		case *ast.Ident:
			ok = ok && x.Name != "iota"
		}
		return true
	})
	return ok && number
}

// comment is what stands beside a constant or else above it; one that stands
// alone in a function may have it at the end of its line.
func comment(fset *token.FileSet, file *ast.File, d *ast.GenDecl, v *ast.ValueSpec, within string) string {
	text := ""
	switch {
	case v.Comment != nil:
		text = v.Comment.Text()
	case v.Doc != nil:
		text = v.Doc.Text()
	case d.Doc != nil:
		text = d.Doc.Text()
	default:
		line := fset.Position(v.Pos()).Line
		for _, c := range file.Comments {
			if l := fset.Position(c.Pos()).Line; l == line || fset.Position(c.End()).Line == line-1 {
				text = c.Text()
			}
		}
	}
	if within != "" && text != "" && insideFunction(file, d) {
		text = "in " + within + ": " + text
	}
	return strings.Join(strings.Fields(text), " ")
}

func insideFunction(file *ast.File, d *ast.GenDecl) bool {
	for _, x := range file.Decls {
		if f, ok := x.(*ast.FuncDecl); ok && d.Pos() > f.Pos() && d.End() < f.End() {
			return true
		}
	}
	return false
}
