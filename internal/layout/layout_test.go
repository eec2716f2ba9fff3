package layout

import (
	"go/build"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

const module = "crownassay/"

// order is the whole import order. A line "a, b < c, d" says that c and d may
// import a and b and all that these may import; lines may add up. A package
// that stands on no right side may import none of the others.
const order = `
# the geometry arm
geom, internal/par < mesh
geom < fit
mesh < meshio, bvh, curvature
bvh, curvature < align
align < finishline
unit, geom < reading
finishline, reading < measure

# the judging arm: no mesh, no search tree, no measuring
geom < tooth
reading, tooth, internal/yamldoc < conformity
conformity, internal/text, internal/gs1 < record
conformity < luting
luting < record
internal/yamldoc, internal/par < practice/visit
spc, internal/par < practice/settings
spc < practice/survival
record, spc, practice/settings, practice/survival < practice
practice, practice/settings, practice/survival, practice/visit, luting < web
practice, practice/visit < sqlite
record < sqlite, pdf, fhir, web, jobs
internal/palette < pdf

# both arms
meshio, measure, record < assay
assay, web, gauge < desk

# the practice checks its own scanner: bodies and scans, no case
fit, align, meshio, unit, spc, internal/yamldoc, internal/text < gauge

# invented cases know files and shapes, never how they are measured
meshio, internal/shape < internal/phantom
reading, mesh < internal/foreign
practice, practice/visit, internal/phantom < internal/twoyears
mesh, internal/palette < internal/render
mesh < internal/shape

# what is kept is read until its context ends
internal/ctxio < sqlite, backup
internal/migrate < sqlite, audit/results

# the whole archive
record, spc, internal/par < audit
audit < audit/results, web
assay < parcel
internal/ctxio, record < meshstore

# on top
assay, internal/render, pdf < report
assay, internal/phantom, gauge, desk, web, sqlite, jobs, inbox, report, fhir, backup, audit, audit/results, parcel, meshstore < cmd/crownassay
internal/twoyears < cmd/crownassay
assay, internal/phantom < bench
`

// apart are pairs that must have no way from the first to the second, whatever
// the order above is changed to.
var apart = map[string][]string{
	"reading":          {"mesh", "meshio", "bvh", "curvature", "align", "finishline", "measure", "conformity", "record"},
	"tooth":            {"mesh", "meshio", "bvh", "curvature", "align", "finishline", "measure", "conformity", "record"},
	"conformity":       {"mesh", "meshio", "bvh", "curvature", "align", "finishline", "measure", "record", "assay"},
	"luting":           {"mesh", "meshio", "bvh", "curvature", "align", "finishline", "measure", "record", "assay"},
	"record":           {"mesh", "meshio", "bvh", "curvature", "align", "finishline", "measure", "assay"},
	"practice":         {"mesh", "meshio", "bvh", "curvature", "align", "finishline", "measure", "assay"},
	"practice/visit":   {"mesh", "meshio", "bvh", "curvature", "align", "finishline", "measure", "conformity", "record", "assay"},
	"audit":            {"mesh", "meshio", "bvh", "curvature", "align", "finishline", "measure", "assay", "sqlite", "web"},
	"sqlite":           {"mesh", "meshio", "bvh", "measure", "assay", "postgres", "pdf", "fhir", "web"},
	"postgres":         {"mesh", "meshio", "bvh", "measure", "assay", "sqlite", "pdf", "fhir", "web"},
	"pdf":              {"mesh", "meshio", "bvh", "measure", "assay", "sqlite", "postgres", "fhir", "web"},
	"fhir":             {"mesh", "meshio", "bvh", "measure", "assay", "sqlite", "postgres", "pdf", "web"},
	"web":              {"mesh", "meshio", "bvh", "measure", "assay", "sqlite", "postgres", "pdf", "fhir", "jobs"},
	"jobs":             {"mesh", "meshio", "bvh", "measure", "assay", "sqlite", "postgres", "pdf", "fhir", "web"},
	"desk":             {"sqlite", "postgres", "jobs", "pdf", "fhir", "report"},
	"report":           {"sqlite", "postgres", "jobs", "web", "desk"},
	"fit":              {"mesh", "bvh", "reading", "conformity"},
	"gauge":            {"finishline", "measure", "reading", "conformity", "record", "assay", "sqlite", "pdf", "web"},
	"internal/phantom": {"gauge", "fit", "bvh", "curvature", "align", "finishline", "measure", "conformity", "record", "assay"},
	"measure":          {"conformity", "record", "meshio"},
}

// allowed works the order out: for each package, all it may import.
func allowed(t *testing.T) map[string]map[string]bool {
	may := map[string]map[string]bool{}
	for _, line := range strings.Split(order, "\n") {
		if line, _, _ = strings.Cut(line, "#"); strings.TrimSpace(line) == "" {
			continue
		}
		left, right, ok := strings.Cut(line, "<")
		if !ok {
			t.Fatalf("order: no < in %q", line)
		}
		for _, r := range list(right) {
			if may[r] == nil {
				may[r] = map[string]bool{}
			}
			for _, l := range list(left) {
				may[r][l] = true
				for p := range may[l] {
					may[r][p] = true
				}
			}
		}
	}
	return may
}

func list(s string) []string {
	f := strings.Split(s, ",")
	for i := range f {
		f[i] = strings.TrimSpace(f[i])
	}
	return f
}

// imports returns the imports within the module of every package of the tree,
// those of tests left out.
func imports(t *testing.T) map[string][]string {
	t.Helper()
	root := filepath.Join("..", "..")
	out := map[string][]string{}
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil || !d.IsDir() {
			return err
		}
		if n := d.Name(); n == "testdata" || n == "node_modules" || n == "bin" || n == "demo" || strings.HasPrefix(n, ".") && path != root {
			return filepath.SkipDir
		}
		p, err := build.ImportDir(path, 0)
		if _, none := err.(*build.NoGoError); none {
			return nil
		}
		if err != nil {
			return err
		}
		name, err := filepath.Rel(root, path)
		if err != nil {
			return err
		}
		name = filepath.ToSlash(name)
		out[name] = []string{}
		for _, i := range p.Imports {
			if rest, ok := strings.CutPrefix(i, module); ok {
				out[name] = append(out[name], rest)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func TestImportOrder(t *testing.T) {
	may, got := allowed(t), imports(t)
	if len(got["assay"]) == 0 || len(got["measure"]) == 0 {
		t.Fatalf("found %d packages and no imports of assay or measure: the tree was not read", len(got))
	}
	for name, is := range got {
		for _, i := range is {
			if !may[name][i] {
				t.Errorf("%s imports %s, which the order does not allow", name, i)
			}
		}
	}
}

func TestArmsStayApart(t *testing.T) {
	got := imports(t)
	for from, tos := range apart {
		way := reach(got, from)
		for _, to := range tos {
			if slices.Contains(way, to) {
				t.Errorf("%s depends on %s", from, to)
			}
		}
	}
}

// reach returns all packages on some way of imports from name.
func reach(got map[string][]string, name string) []string {
	var out []string
	todo := slices.Clone(got[name])
	for len(todo) > 0 {
		p := todo[0]
		todo = todo[1:]
		if !slices.Contains(out, p) {
			out = append(out, p)
			todo = append(todo, got[p]...)
		}
	}
	return out
}

// TestEveryPackageSaysWhatItIs holds each package to a comment of its own.
func TestEveryPackageSaysWhatItIs(t *testing.T) {
	for name := range imports(t) {
		p, err := build.ImportDir(filepath.Join("..", "..", filepath.FromSlash(name)), build.ImportComment)
		if err != nil {
			t.Fatal(err)
		}
		if p.Doc == "" {
			t.Errorf("%s has no package comment", name)
		}
	}
}
