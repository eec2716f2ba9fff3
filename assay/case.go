package assay

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"sync"

	_ "embed"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"crownassay/conformity"
	"crownassay/geom"
	"crownassay/internal/yamldoc"
	"crownassay/luting"
	"crownassay/mesh"
	"crownassay/tooth"
)

// CaseFile is the name of the description in a case folder.
const CaseFile = "case.yaml"

//go:embed case.schema.json
var caseSchemaText []byte

var caseSchema = sync.OnceValue(func() *jsonschema.Schema { return yamldoc.Compile(caseSchemaText) })

// Role says what a surface of a case is.
type Role string

// The roles of surfaces.
const (
	Prepared Role = "prepared"
	Opposing Role = "opposing"
	Before   Role = "before"
	Crown    Role = "crown"
	Finished Role = "finished"
	Seated   Role = "seated"
)

// Roles lists the roles in the order of the visit.
var Roles = []Role{Prepared, Opposing, Before, Crown, Finished, Seated}

// Source is the mesh file of one role.
type Source struct {
	Role Role
	File string // as the case gives it
	Path string // to open
}

// Case is what a case folder holds, checked.
type Case struct {
	Path      string // of the description, for messages
	Tooth     tooth.Tooth
	Numbering tooth.Numbering
	Material  conformity.Material
	Unit      string  // name of the files' length unit
	Scale     float64 // mm of one such unit

	Surfaces   []Source   // in the order of Roles
	At         *geom.Vec  // a point on the preparation, mm; nil if not given
	Mesial     *geom.Vec  // unit direction; nil if not given
	FinishLine []geom.Vec // traced by the operator, mm; nil if not given
	LineFile   string     // that it was read from, as the case gives it; empty if none

	Limits      *conformity.Limits // built-in ones with the practice's own laid over
	LimitsFile  string             // as the case gives it; empty for the built-in ones
	Luting      *luting.Rules      // built-in ones with the practice's own laid over
	LutingFile  string             // as the case gives it; empty for the built-in ones
	ScannerUM   float64            // expanded uncertainty stated or checked, um; 0 if neither
	ScannerFrom string             // the check of the scanner that it is from, in words; empty if stated
	Rule        conformity.Rule    // empty for the guard band
	CementSpace float64            // mm
	ToolRadius  float64            // mm, of the finest milling tool's tip
	Blocks      []conformity.Block // the chosen one, or all to choose from

	Dentist string // code; empty if not given
	Date    string // of the visit, YYYY-MM-DD; empty if not given

	perturb func(context.Context, Role, *mesh.Mesh) (*mesh.Mesh, error) // what a draw does to a surface, mm; nil for nothing
}

// Surface returns the source of a role and whether there is one.
func (c *Case) Surface(r Role) (Source, bool) {
	for _, s := range c.Surfaces {
		if s.Role == r {
			return s, true
		}
	}
	return Source{}, false
}

// Setting returns what the judgement of the case depends on.
func (c *Case) Setting() conformity.Setting {
	return conformity.Setting{Tooth: c.Tooth, Material: c.Material.Name, ScannerUM: c.ScannerUM, Rule: c.Rule}
}

// LoadCase reads and checks a case; path is its folder or the description in
// it. Every error names the file, the line where there is one, and a hint.
func LoadCase(path string) (*Case, error) {
	file, err := findCase(path)
	if err != nil {
		return nil, err
	}
	text, err := readText(file)
	if err != nil {
		return nil, err
	}
	d, err := yamldoc.Parse(file, text)
	if err != nil {
		return nil, err
	}
	if err := d.Validate(caseSchema()); err != nil {
		return nil, err
	}
	var w written
	if err := d.Decode(&w); err != nil {
		return nil, err
	}
	return w.check(d, file)
}

// findCase returns the path of the description.
func findCase(path string) (string, error) {
	info, err := os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return "", fmt.Errorf("open case %s: no such file or folder; give the folder that holds %s", path, CaseFile)
	}
	if err != nil {
		return "", fmt.Errorf("open case %s: %w", path, err)
	}
	if !info.IsDir() {
		return path, nil
	}
	file := filepath.Join(path, CaseFile)
	if _, err := os.Stat(file); err != nil {
		return "", fmt.Errorf("open case %s: the folder holds no %s; write one as the README shows", path, CaseFile)
	}
	return file, nil
}

// readText reads a hand-written file, which is small.
func readText(path string) ([]byte, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, fmt.Errorf("read %s: %w", path, errors.Unwrap(err))
	}
	if info.IsDir() {
		return nil, fmt.Errorf("read %s: it is a folder; give a file", path)
	}
	if info.Size() > maxText {
		return nil, fmt.Errorf("read %s: the file has %d bytes, a text written by hand has fewer than %d; is it a mesh?", path, info.Size(), maxText)
	}
	b, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("read %s: %w", path, errors.Unwrap(err))
	}
	return b, nil
}

// maxText is the largest text file that is read, bytes: 100,000 points of a
// finish line have about 3 MB.
const maxText = 8 << 20
