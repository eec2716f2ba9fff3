package fit

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"crownassay/geom"
)

// reference is a set of points with the fit of SciPy: testdata/reference.py,
// made with SciPy 1.10.1 (Debian's python3-scipy).
type reference struct {
	Name, Kind           string
	Strangers            int
	Points               [][3]float64
	Value, Standard, ODR []float64
	RMS                  float64
}

func references(t *testing.T) []reference {
	t.Helper()
	text, err := os.ReadFile("testdata/reference.json")
	if err != nil {
		t.Fatal(err)
	}
	var rs []reference
	if err := json.Unmarshal(text, &rs); err != nil {
		t.Fatal(err)
	}
	return rs
}

// described is a fit in the terms that the reference has: size, direction (up
// to its sign), place.
func described(t *testing.T, kind string, pts []geom.Vec, o Options) (value []float64, sizeU float64, q Quality) {
	t.Helper()
	var err error
	v := func(a geom.Vec) []float64 { return []float64{a.X, a.Y, a.Z} }
	switch kind {
	case "sphere":
		var s Sphere
		s, q, err = FitSphere(pts, nil, o)
		value = append([]float64{s.Radius}, v(s.Center)...)
		if err == nil {
			sizeU = math.Sqrt(q.Covariance.At(3, 3))
		}
	case "plane":
		var s Plane
		s, q, err = FitPlane(pts, nil, o)
		value = v(s.Normal)
	case "cylinder":
		var s Cylinder
		s, q, err = FitCylinder(pts, nil, o)
		value = append([]float64{s.Radius}, v(s.Axis)...)
		if err == nil {
			sizeU = math.Sqrt(q.Covariance.At(4, 4))
		}
	case "cone":
		var s Cone
		s, q, err = FitCone(pts, nil, o)
		apex := s.At.Sub(s.Axis.Mul(s.Radius / math.Tan(s.Half)))
		value = append(append([]float64{s.Half}, v(s.Axis)...), v(apex)...)
		if err == nil {
			sizeU = math.Sqrt(q.Covariance.At(5, 5))
		}
	}
	if err != nil {
		t.Fatal(err)
	}
	return value, sizeU, q
}

// align turns a direction to the side of the reference's.
func align(kind string, got, want []float64) {
	at := map[string]int{"plane": 0, "cylinder": 1}
	i, ok := at[kind]
	if ok && got[i]*want[i]+got[i+1]*want[i+1]+got[i+2]*want[i+2] < 0 {
		for k := i; k < i+3; k++ {
			got[k] = -got[k]
		}
	}
}

func vectors(p [][3]float64) []geom.Vec {
	out := make([]geom.Vec, len(p))
	for i, x := range p {
		out[i] = geom.V(x[0], x[1], x[2])
	}
	return out
}

// TestSciPy holds plain fits to SciPy's, without a start given: value,
// uncertainty and noise.
func TestSciPy(t *testing.T) {
	for _, r := range references(t) {
		t.Run(r.Name, func(t *testing.T) {
			clean := vectors(r.Points[:len(r.Points)-r.Strangers])
			got, u, q := described(t, r.Kind, clean, Options{})
			align(r.Kind, got, r.Value)
			for i := range got {
				// SciPy's own two algorithms differ by up to 1e-3 of the uncertainty
				if d := math.Abs(got[i] - r.Value[i]); d > 1e-3*r.Standard[i] {
					t.Errorf("value %d = %.9f, want %.9f (uncertainty %.2g)", i, got[i], r.Value[i], r.Standard[i])
				}
			}
			if r.Kind != "plane" && math.Abs(u/r.Standard[0]-1) > 1e-4 {
				t.Errorf("standard uncertainty = %.7f, want %.7f", u, r.Standard[0])
			}
			if math.Abs(q.RMS/r.RMS-1) > 1e-6 {
				t.Errorf("RMS = %.8f, want %.8f", q.RMS, r.RMS)
			}
		})
	}
}

// TestStrangers lays shapes through points of which more than a quarter
// belong to nothing: the fit must be that of SciPy without them, within one
// standard uncertainty.
func TestStrangers(t *testing.T) {
	for _, r := range references(t) {
		if r.Strangers == 0 {
			continue
		}
		t.Run(r.Name, func(t *testing.T) {
			got, _, _ := described(t, r.Kind, vectors(r.Points), Options{Robust: true})
			align(r.Kind, got, r.Value)
			for i := range got {
				if d := math.Abs(got[i] - r.Value[i]); d > r.Standard[i] {
					t.Errorf("value %d = %.6f, want %.6f within %.2g", i, got[i], r.Value[i], r.Standard[i])
				}
			}
		})
	}
}
