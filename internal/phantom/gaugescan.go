package phantom

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"

	"crownassay/geom"
	"crownassay/internal/shape"
	"crownassay/mesh"
	"crownassay/meshio"
)

// GaugeKinds are the reference bodies of which scans are invented.
var GaugeKinds = []string{"sphere", "two-spheres", "steps", "cylinder", "cone", "mesh"}

// GaugeSpec says how scans of a reference body are off.
type GaugeSpec struct {
	Kind    string
	Repeats int     // default 5
	Seed    uint64  // the same seed gives the same scans
	Scale   float64 // relative: 0.001 scans 1 per mille too large
	Swing   float64 // standard deviation of that from one scan to the next
	Offset  float64 // mm, of the surface outward
	Noise   float64 // mm, along the normal, standard deviation
	Form    float64 // mm, standard deviation of a smooth error of the surface that is the same in each scan; the truth leaves it out
	Edge    float64 // mm, of the facets; default 0.15
	Cap     float64 // degrees: half angle of the part of a sphere that is seen; default 110
	Plain   bool    // nothing of the plate that the body stands on
	CalUM   float64 // the calibration's expanded uncertainty, um; the certificate is off by a draw of it; default 0.5
}

// GaugeTruth is the true mean error of each dimension, in mm or degrees, as
// gauge names them.
type GaugeTruth struct {
	Errors map[string]float64 `json:"errors"`
}

// Gauge is an invented reference body with its scans.
type Gauge struct {
	Body  string // the description, YAML
	Scans []*mesh.Mesh
	Exact *mesh.Mesh // of a body of kind mesh
	Truth GaugeTruth
}

// The bodies' true dimensions, mm and degrees.
const (
	gaugeDiameter = 10.0
	gaugeSecond   = 8.0
	gaugeDistance = 24.0
	gaugeWide     = 6.0 // diameter of the cylinder
	gaugeHigh     = 9.0 // height of cylinder and cone
	gaugeAngle    = 12.0
	gaugeTop      = 5.0 // diameter of the cone's top
	gaugeHeight   = 4.0 // below the top, where the cone's diameter is calibrated
)

var gaugeSteps = []float64{1, 2.5, 4}

// BuildGauge invents scans of a reference body. A point p of the body with the
// normal n is scanned at p (1 + scale) + n (offset + noise), in any pose.
func BuildGauge(s GaugeSpec) (*Gauge, error) {
	if s.Repeats == 0 {
		s.Repeats = 5
	}
	if s.Edge == 0 {
		s.Edge = 0.15
	}
	if s.Cap == 0 {
		s.Cap = 110
	}
	if s.CalUM == 0 {
		s.CalUM = 0.5
	}
	rng := rand.New(rand.NewPCG(s.Seed, 77))
	g := &Gauge{Truth: GaugeTruth{map[string]float64{}}}
	body, err := s.describe(g, rng)
	if err != nil {
		return nil, err
	}
	g.Body = body
	for i := range s.Repeats {
		m := s.body(s.Seed + uint64(i))
		if s.Kind == "mesh" {
			g.Exact = s.body(1)
		}
		g.Scans = append(g.Scans, s.scan(m, s.Scale+s.Swing*rng.NormFloat64(), rng))
	}
	return g, nil
}

// describe writes the body's file, whose values are off by what the
// calibration is, and works out the true errors against the values written.
func (s GaugeSpec) describe(g *Gauge, rng *rand.Rand) (string, error) {
	var b strings.Builder
	fmt.Fprintf(&b, "name: invented %s\nkind: %s\nserial: \"X-%d\"\ncertificate: invented, for trying out\ncalibrated: \"2026-01-15\"\n", s.Kind, s.Kind, s.Seed)
	length := func(name string, mm, offsets float64) string {
		said := mm + s.CalUM/2000*rng.NormFloat64()
		g.Truth.Errors[name] = mm*(1+s.Scale) + offsets*s.Offset - mm
		return fmt.Sprintf("{mm: %.5f, uncertainty_um: %g}", said, s.CalUM)
	}
	switch s.Kind {
	case "sphere":
		fmt.Fprintf(&b, "diameter: %s\n", length("diameter", gaugeDiameter, 2))
	case "two-spheres":
		fmt.Fprintf(&b, "diameters:\n  - %s\n  - %s\ndistance: %s\n", length("diameter 1", gaugeDiameter, 2), length("diameter 2", gaugeSecond, 2), length("distance", gaugeDistance, 0))
	case "steps":
		b.WriteString("steps:\n")
		for i, h := range gaugeSteps {
			fmt.Fprintf(&b, "  - %s\n", length(fmt.Sprintf("step %d", i+1), h, 0))
		}
	case "cylinder":
		fmt.Fprintf(&b, "diameter: %s\n", length("diameter", gaugeWide, 2))
	case "cone":
		// the top rises by the scale and the offset, so that the place that is
		// gaugeHeight below it lies higher up the wall
		tan, cos := math.Tan(gaugeAngle*math.Pi/360), math.Cos(gaugeAngle*math.Pi/360)
		d := gaugeTop + 2*gaugeHeight*tan
		off := 2 * (1/cos - tan)
		length("diameter", d, 0)
		g.Truth.Errors["diameter"] = gaugeTop*s.Scale + off*s.Offset
		g.Truth.Errors["angle"] = 0
		fmt.Fprintf(&b, "angle: {deg: %g, uncertainty_deg: 0.002}\ndiameter: {mm: %.5f, uncertainty_um: %g}\nheight: %g\nfrom: top\n", gaugeAngle,
			d+s.CalUM/2000*rng.NormFloat64(), s.CalUM, gaugeHeight)
	case "mesh":
		fmt.Fprintf(&b, "file: body.stl\nuncertainty_um: %g\n", s.CalUM)
		size := s.body(1).Box().Size()
		g.Truth.Errors["surface"] = s.Offset
		g.Truth.Errors["largest dimension"] = s.Scale * max(size.X, size.Y, size.Z)
	default:
		return "", fmt.Errorf("invent scans of %q: no such body; use one of %s", s.Kind, strings.Join(GaugeKinds, ", "))
	}
	return b.String(), nil
}

// body is the exact surface as a scanner from above sees it, with the plate
// that it stands on.
func (s GaugeSpec) body(seed uint64) *mesh.Mesh {
	var m *mesh.Mesh
	foot := 0.0
	switch s.Kind {
	case "sphere":
		m, foot = s.ball(geom.Vec{}, gaugeDiameter/2), -gaugeDiameter/2-1
	case "two-spheres":
		m = shape.Joined(s.ball(geom.Vec{}, gaugeDiameter/2), s.ball(geom.V(math.Sqrt(gaugeDistance*gaugeDistance-1), 0, 1), gaugeSecond/2))
		return s.stand(m, -gaugeDiameter/2-1, geom.V(gaugeDistance/2, 0, 0))
	case "steps":
		return s.stairs()
	case "cylinder":
		r := gaugeWide / 2
		m = shape.Lathe(shape.Round(shape.Path{{R: 0, Z: gaugeHigh}, {R: r, Z: gaugeHigh}, {R: r, Z: 0}}), s.Edge, seed)
	case "cone":
		r := gaugeTop / 2
		m = shape.Lathe(shape.Round(shape.Path{{R: 0, Z: 0}, {R: r, Z: 0}, {R: r + gaugeHigh*math.Tan(gaugeAngle*math.Pi/360), Z: -gaugeHigh}}), s.Edge, seed)
		foot = -gaugeHigh
	case "mesh":
		return shape.Lathe(stump, s.Edge, seed)
	}
	return s.stand(m, foot, geom.Vec{})
}

// stump is a body without symmetry, in some ways like a prepared tooth.
func stump(azimuth float64) shape.Path {
	a := azimuth * math.Pi / 180
	k := 1 + 0.12*math.Cos(2*a) + 0.07*math.Cos(3*a+0.4) + 0.04*math.Cos(a)
	return shape.Path{{R: 0, Z: 5.5}, {R: 2.2 * k, Z: 6 + 0.5*math.Cos(a)}, {R: 3.4 * k, Z: 5}, {R: 4 * k, Z: 0.6}, {R: 5 * k, Z: 0.3}, {R: 5.2 * k, Z: -2}}
}

// ball is the part of a sphere that is seen.
func (s GaugeSpec) ball(c geom.Vec, r float64) *mesh.Mesh {
	least := math.Cos(s.Cap * math.Pi / 180)
	return shape.Without(shape.Ball(c, r, s.Edge), func(p geom.Vec) bool { return p.Sub(c).Unit().Z < least })
}

// stand adds the plate.
func (s GaugeSpec) stand(m *mesh.Mesh, foot float64, at geom.Vec) *mesh.Mesh {
	if s.Plain {
		return m
	}
	p := shape.Plate(foot, 9, 2*s.Edge)
	p.V = offset(p.V, at)
	return shape.Joined(m, p)
}

func offset(v []geom.Vec, by geom.Vec) []geom.Vec {
	out := make([]geom.Vec, len(v))
	for i, p := range v {
		out[i] = p.Add(by)
	}
	return out
}

// stairs is the block of steps, seen from above: treads of 4 by 6 mm, and the
// risers between them.
func (s GaugeSpec) stairs() *mesh.Mesh {
	const tread, wide = 4.0, 6.0
	m := &mesh.Mesh{}
	low := 0.0
	for k, h := range append([]float64{0}, gaugeSteps...) {
		x := tread * float64(k)
		if k > 0 {
			m = shape.Joined(m, s.sheet(geom.V(x, 0, low), geom.V(0, 0, h-low), geom.V(0, wide, 0)))
		}
		m = shape.Joined(m, s.sheet(geom.V(x, 0, h), geom.V(tread, 0, 0), geom.V(0, wide, 0)))
		low = h
	}
	return welded(m)
}

// sheet is a parallelogram cut into facets; its normal is u x v, turned where
// u points up to face a riser's way.
func (s GaugeSpec) sheet(at, u, v geom.Vec) *mesh.Mesh {
	n, k := max(1, int(math.Ceil(u.Norm()/s.Edge))), max(1, int(math.Ceil(v.Norm()/s.Edge)))
	m := &mesh.Mesh{}
	for i := range n + 1 {
		for j := range k + 1 {
			m.V = append(m.V, at.Add(u.Mul(float64(i)/float64(n))).Add(v.Mul(float64(j)/float64(k))))
		}
	}
	for i := range n {
		for j := range k {
			a := int32(i*(k+1) + j)
			b, c, d := a+int32(k+1), a+1, a+int32(k+2)
			m.F = append(m.F, [3]int32{a, b, d}, [3]int32{a, d, c})
		}
	}
	return m
}

// welded joins vertices at exactly the same place.
func welded(m *mesh.Mesh) *mesh.Mesh {
	at := map[geom.Vec]int32{}
	out := &mesh.Mesh{}
	name := make([]int32, len(m.V))
	for i, v := range m.V {
		k, ok := at[v]
		if !ok {
			k = int32(len(out.V))
			at[v], out.V = k, append(out.V, v)
		}
		name[i] = k
	}
	for _, f := range m.F {
		out.F = append(out.F, [3]int32{name[f[0]], name[f[1]], name[f[2]]})
	}
	return out
}

// scan is the surface as it is scanned, in some pose.
func (s GaugeSpec) scan(m *mesh.Mesh, scale float64, rng *rand.Rand) *mesh.Mesh {
	out := &mesh.Mesh{V: make([]geom.Vec, len(m.V)), F: m.F}
	for i, n := range m.VertexNormals() {
		out.V[i] = m.V[i].Mul(1 + scale).Add(n.Mul(s.Offset + s.swell(m.V[i]) + s.Noise*rng.NormFloat64()))
	}
	return out.Move(shape.Pose(rng))
}

// swell is the smooth error at a place of the body: waves of 3 to 6 mm in all
// directions.
func (s GaugeSpec) swell(p geom.Vec) float64 {
	if s.Form == 0 {
		return 0
	}
	const waves = 12
	rng := rand.New(rand.NewPCG(s.Seed, 78))
	sum := 0.0
	for range waves {
		k := geom.V(rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64()).Unit().Mul(2 * math.Pi / (3 + 3*rng.Float64()))
		sum += math.Cos(k.Dot(p) + 2*math.Pi*rng.Float64())
	}
	return s.Form * math.Sqrt(2.0/waves) * sum
}

// Write writes body.yaml, the scans and truth.json into a folder.
func (g *Gauge) Write(dir string) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return fmt.Errorf("make folder: %w", err)
	}
	truth, err := json.MarshalIndent(g.Truth, "", " ")
	if err != nil {
		return err
	}
	for name, text := range map[string][]byte{"body.yaml": []byte(g.Body), "truth.json": append(truth, '\n')} {
		if err := os.WriteFile(filepath.Join(dir, name), text, 0o644); err != nil {
			return err
		}
	}
	if g.Exact != nil {
		if err := meshio.WriteFile(filepath.Join(dir, "body.stl"), g.Exact); err != nil {
			return err
		}
	}
	for i, m := range g.Scans {
		if err := meshio.WriteFile(filepath.Join(dir, fmt.Sprintf("scan%d.stl", i+1)), m); err != nil {
			return err
		}
	}
	return nil
}
