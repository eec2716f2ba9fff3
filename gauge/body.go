package gauge

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"sync"

	_ "embed"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"crownassay/internal/yamldoc"
	"crownassay/mesh"
	"crownassay/meshio"
	"crownassay/unit"
)

//go:embed body.schema.json
var schemaText []byte

var schema = sync.OnceValue(func() *jsonschema.Schema { return yamldoc.Compile(schemaText) })

// Kind is the shape of a reference body.
type Kind string

// The kinds of bodies.
const (
	Sphere     Kind = "sphere"
	TwoSpheres Kind = "two-spheres"
	Steps      Kind = "steps"
	Cylinder   Kind = "cylinder"
	Cone       Kind = "cone"
	Mesh       Kind = "mesh"
)

// Length is a calibrated length.
type Length struct {
	MM float64 `yaml:"mm"`
	UM float64 `yaml:"uncertainty_um"` // expanded, k = 2
}

// standard is the standard uncertainty, mm.
func (l Length) standard() float64 { return l.UM / 2000 }

// Angle is a calibrated angle.
type Angle struct {
	Deg         float64 `yaml:"deg"`
	Uncertainty float64 `yaml:"uncertainty_deg"` // expanded, k = 2
}

// Body is a reference body as its file describes it.
type Body struct {
	Path        string `yaml:"-"`
	SHA256      string `yaml:"-"` // of the file
	Name        string `yaml:"name"`
	Kind        Kind   `yaml:"kind"`
	Serial      any    `yaml:"serial"`
	Certificate string `yaml:"certificate"`
	Calibrated  string `yaml:"calibrated"`
	Units       string `yaml:"units"` // of the scans

	Diameter  *Length  `yaml:"diameter"`
	Diameters []Length `yaml:"diameters"`
	Distance  *Length  `yaml:"distance"`
	Steps     []Length `yaml:"steps"` // rising
	Angle     *Angle   `yaml:"angle"`
	Height    float64  `yaml:"height"`
	From      string   `yaml:"from"`
	File      string   `yaml:"file"`
	SurfaceUM float64  `yaml:"uncertainty_um"`

	Mesh *mesh.Mesh `yaml:"-"` // of a body of kind mesh
}

// fields says what each kind needs; what it needs not it must not have.
var fields = map[Kind][]string{
	Sphere:     {"diameter"},
	TwoSpheres: {"diameters", "distance"},
	Steps:      {"steps"},
	Cylinder:   {"diameter"},
	Cone:       {"angle", "diameter", "height", "from"},
	Mesh:       {"file", "uncertainty_um"},
}

// LoadBody reads and checks the description of a body.
func LoadBody(path string) (*Body, error) {
	text, err := readSmall(path)
	if err != nil {
		return nil, err
	}
	b, d, err := parseBody(path, text)
	if err != nil {
		return nil, err
	}
	return b, b.loadMesh(d)
}

// parseBody checks the text of a description.
func parseBody(path string, text []byte) (*Body, *yamldoc.Doc, error) {
	if bytes.IndexByte(text, 0) >= 0 {
		return nil, nil, fmt.Errorf("read body %s: this is no text; give the YAML file that describes the body first, then the scans", path)
	}
	d, err := yamldoc.Parse(path, text)
	if err != nil {
		return nil, nil, err
	}
	if err := d.Validate(schema()); err != nil {
		return nil, nil, err
	}
	sum := sha256.Sum256(text)
	b := &Body{Path: path, SHA256: hex.EncodeToString(sum[:]), SurfaceUM: -1}
	if err := d.Decode(b); err != nil {
		return nil, nil, err
	}
	if b.Units == "" {
		b.Units = "mm"
	}
	return b, d, b.check(d)
}

// readSmall reads a file that was written by hand.
func readSmall(path string) ([]byte, error) {
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, fmt.Errorf("read body %s: no such file; give the YAML file that describes the reference body", path)
	case err != nil:
		return nil, fmt.Errorf("read body %s: %w", path, err)
	case info.IsDir():
		return nil, fmt.Errorf("read body %s: it is a folder; give the YAML file in it", path)
	case info.Size() > yamldoc.MaxBytes:
		return nil, fmt.Errorf("read body %s: the file has %d bytes, too many for a description; give the YAML file first, then the scans", path, info.Size())
	}
	return os.ReadFile(path)
}

// check holds the fields against the kind.
func (b *Body) check(d *yamldoc.Doc) error {
	has := map[string]bool{"diameter": b.Diameter != nil, "diameters": b.Diameters != nil, "distance": b.Distance != nil, "steps": b.Steps != nil,
		"angle": b.Angle != nil, "height": b.Height != 0, "from": b.From != "", "file": b.File != "", "uncertainty_um": b.SurfaceUM >= 0}
	for _, name := range []string{"diameter", "diameters", "distance", "steps", "angle", "height", "from", "file", "uncertainty_um"} {
		needs := false
		for _, f := range fields[b.Kind] {
			needs = needs || f == name
		}
		if needs && !has[name] {
			return d.Fault(fmt.Sprintf("%s is missing", name), fmt.Sprintf("a body of kind %s needs it; see the README", b.Kind), "kind")
		}
		if !needs && has[name] {
			return d.Fault(fmt.Sprintf("%s: a body of kind %s has none", name, b.Kind), "leave it out, or choose another kind", name)
		}
	}
	for i := 1; i < len(b.Steps); i++ {
		if b.Steps[i].MM-b.Steps[i-1].MM < leastStep {
			return d.Fault(fmt.Sprintf("steps: height %d is not above the one before by %g mm or more", i+1, leastStep), "give the heights above the lowest plane, rising", "steps", fmt.Sprint(i))
		}
	}
	if len(b.Steps) > 0 && b.Steps[0].MM < leastStep {
		return d.Fault(fmt.Sprintf("steps: the first height is below %g mm", leastStep), "planes nearer than that are not told apart", "steps", "0")
	}
	if b.Kind == TwoSpheres && b.Distance.MM < (b.Diameters[0].MM+b.Diameters[1].MM)/2 {
		return d.Fault("distance: the spheres would lie in one another", "give the distance of their middles", "distance", "mm")
	}
	return nil
}

// leastStep is the lowest height, mm, between neighbouring planes of steps
// that are told apart: ten times the noise of a scan of common quality.
const leastStep = 0.1

// loadMesh reads the mesh of a body of that kind.
func (b *Body) loadMesh(d *yamldoc.Doc) error {
	if b.Kind != Mesh {
		return nil
	}
	path := b.File
	if !filepath.IsAbs(path) {
		path = filepath.Join(filepath.Dir(b.Path), path)
	}
	f, err := meshio.Read(path)
	if err != nil {
		return err
	}
	if f.UnitMM > 0 && f.UnitMM != 1 {
		f.Mesh = scaled(f.Mesh, f.UnitMM)
	}
	if u := meshio.LikelyUnit(f.Mesh.Box()); u != "mm" {
		return d.Fault(fmt.Sprintf("file: the largest dimension of %s is %.4g mm, which is no body that fits a mouth's scanner", b.File, largest(f.Mesh)), "give the mesh in millimetres", "file")
	}
	b.Mesh = f.Mesh
	return nil
}

// scale is the millimetres of one unit of the scans.
func (b *Body) scale() float64 {
	mm, _ := unit.MillimetresPer(b.Units)
	return mm
}

// serial is the number on the body as text.
func (b *Body) serial() string {
	if b.Serial == nil {
		return ""
	}
	return fmt.Sprint(b.Serial)
}
