package gauge

import (
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"crownassay/internal/phantom"
	"crownassay/mesh"
	"crownassay/meshio"
)

// invented writes an invented body with its scans and checks it.
func invented(t *testing.T, s phantom.GaugeSpec) (*Result, *phantom.Gauge, error) {
	t.Helper()
	g, err := phantom.BuildGauge(s)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	if err := g.Write(dir); err != nil {
		t.Fatal(err)
	}
	r, err := checked(dir, len(g.Scans))
	return r, g, err
}

func checked(dir string, n int) (*Result, error) {
	b, err := LoadBody(filepath.Join(dir, "body.yaml"))
	if err != nil {
		return nil, err
	}
	var scans []string
	for i := range n {
		scans = append(scans, filepath.Join(dir, fmt.Sprintf("scan%d.stl", i+1)))
	}
	return Check(context.Background(), b, scans, Settings{Scanner: "arch 1", Made: time.Date(2026, 11, 27, 9, 0, 0, 0, time.UTC)})
}

// TestInvented takes scans of a known error of every kind of body: scale,
// offset of the surface, swing of the scale and noise. The stated interval must
// hold the true error.
func TestInvented(t *testing.T) {
	for _, kind := range phantom.GaugeKinds {
		t.Run(kind, func(t *testing.T) {
			spec := phantom.GaugeSpec{Kind: kind, Seed: 4, Scale: 0.0015, Swing: 0.0003, Offset: 0.004, Noise: 0.008, Repeats: 4}
			r, g, err := invented(t, spec)
			if err != nil {
				t.Fatal(err)
			}
			if len(r.Dimensions) != len(g.Truth.Errors) {
				t.Errorf("%d dimensions, want %d", len(r.Dimensions), len(g.Truth.Errors))
			}
			for _, d := range r.Dimensions {
				want, ok := g.Truth.Errors[d.Name]
				if !ok {
					t.Errorf("dimension %s has no truth", d.Name)
				}
				t.Logf("%-18s error %8.2f, true %8.2f, +- %6.2f, s %5.2f, fit %5.2f, U %6.2f (um or mdeg)", d.Name, 1000*d.Trueness, 1000*want, 1000*d.TruenessU, 1000*d.Scatter, 1000*d.Fit, 1000*d.Expanded)
				if math.Abs(d.Trueness-want) > d.TruenessU {
					t.Errorf("%s: error %.5f +- %.5f, want %.5f", d.Name, d.Trueness, d.TruenessU, want)
				}
				if d.TruenessU > 0.02 && d.Unit == "mm" {
					t.Errorf("%s: the interval of %.4f mm says nothing", d.Name, d.TruenessU)
				}
			}
			t.Logf("noise %.2f form %.2f U %.2f by %s; %v", r.NoiseUM, r.FormUM, r.ScannerUM, r.Decided, r.Notes)
			if math.Abs(r.NoiseUM-8) > 0.8 {
				t.Errorf("noise %.2f um, want 8", r.NoiseUM)
			}
		})
	}
}

// copies of scans and meshes for the refusals
func write(t *testing.T, dir, name string, m *mesh.Mesh) {
	t.Helper()
	if err := meshio.WriteFile(filepath.Join(dir, name), m); err != nil {
		t.Fatal(err)
	}
}

func TestRefusals(t *testing.T) {
	g, err := phantom.BuildGauge(phantom.GaugeSpec{Kind: "sphere", Seed: 2, Noise: 0.005, Repeats: 2, Edge: 0.25})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name  string
		spoil func(dir string)
		n     int
		want  []string
	}{
		{"one scan", func(string) {}, 1, []string{"1 scan given", "two the least"}},
		{"the same scan twice", func(dir string) { write(t, dir, "scan2.stl", g.Scans[0]) }, 2, []string{"are the same scan"}},
		{"centimetres", func(dir string) { write(t, dir, "scan1.stl", scaled(g.Scans[0], 0.1)) }, 2, []string{"scan1.stl", "write \"units: cm\" in", "body.yaml"}},
		{"another body", func(dir string) { write(t, dir, "scan2.stl", scaled(g.Scans[1], 1.3)) }, 2, []string{"scan2.stl", "see that the scan"}},
		{"another body's file", func(dir string) {
			os.WriteFile(filepath.Join(dir, "body.yaml"), []byte("name: x\nkind: sphere\ndiameter: {mm: 10, uncertainty: 3}\n"), 0o644)
		}, 2, []string{"body.yaml:3", "uncertainty_um is missing"}},
		{"a field of another kind", func(dir string) {
			os.WriteFile(filepath.Join(dir, "body.yaml"), []byte("name: x\nkind: cone\ndiameter: {mm: 10, uncertainty_um: 3}\n"), 0o644)
		}, 2, []string{"body.yaml:2", "angle is missing", "cone needs it"}},
		{"no scan", func(dir string) { os.Remove(filepath.Join(dir, "scan2.stl")) }, 2, []string{"scan2.stl", "no such file"}},
		{"a text", func(dir string) { os.WriteFile(filepath.Join(dir, "scan1.stl"), []byte("hello"), 0o644) }, 2, []string{"scan1.stl"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			if err := g.Write(dir); err != nil {
				t.Fatal(err)
			}
			c.spoil(dir)
			_, err := checked(dir, c.n)
			if err == nil {
				t.Fatal("no error")
			}
			for _, w := range c.want {
				if !strings.Contains(err.Error(), w) {
					t.Errorf("error %q, want %q in it", err, w)
				}
			}
		})
	}
	t.Run("a small cap", func(t *testing.T) {
		_, _, err := invented(t, phantom.GaugeSpec{Kind: "sphere", Seed: 2, Noise: 0.005, Repeats: 2, Cap: 30})
		if err == nil || !strings.Contains(err.Error(), "cap of") || !strings.Contains(err.Error(), "scan1.stl") {
			t.Errorf("error %v, want a cap that does not hold the diameter", err)
		}
	})
	t.Run("inside out", func(t *testing.T) {
		dir := t.TempDir()
		if err := g.Write(dir); err != nil {
			t.Fatal(err)
		}
		for i, m := range g.Scans {
			turned := &mesh.Mesh{V: m.V}
			for _, f := range m.F {
				turned.F = append(turned.F, [3]int32{f[0], f[2], f[1]})
			}
			write(t, dir, fmt.Sprintf("scan%d.stl", i+1), turned)
		}
		r, err := checked(dir, 2)
		if err != nil {
			t.Fatal(err)
		}
		if got := strings.Join(r.Notes, " "); !strings.Contains(got, "inside out") {
			t.Errorf("notes %q, want inside out", got)
		}
	})
}

// TestArchIsNoBody gives scans of teeth as scans of a body: there is nothing
// in them that may be taken for it.
func TestArchIsNoBody(t *testing.T) {
	made, err := phantom.Build(context.Background(), phantom.Spec{Tooth: "46", Seed: 1, Noise: 0.006, Triangles: 60000})
	if err != nil {
		t.Fatal(err)
	}
	for _, kind := range phantom.GaugeKinds {
		g, err := phantom.BuildGauge(phantom.GaugeSpec{Kind: kind, Repeats: 1, Seed: 1})
		if err != nil {
			t.Fatal(err)
		}
		dir := t.TempDir()
		if err := g.Write(dir); err != nil {
			t.Fatal(err)
		}
		write(t, dir, "scan1.stl", made.Prepared)
		write(t, dir, "scan2.stl", made.Opposing)
		if r, err := checked(dir, 2); err == nil {
			t.Errorf("teeth were taken for a %s: %+v", kind, r.Dimensions)
		} else if !strings.Contains(err.Error(), "scan1.stl") {
			t.Errorf("%s: %v, want the file named", kind, err)
		}
	}
}

// TestForm gives scans a smooth error of the surface that is the same each
// time: it must be told from the noise and stand in the uncertainty.
func TestForm(t *testing.T) {
	// a fit takes the longest waves up and patches of 1 mm the shortest; of treads of
	// 4 by 6 mm each has its own mean taken out, which leaves less
	for kind, least := range map[string]float64{"sphere": 0.7, "cylinder": 0.7, "steps": 0.55} {
		for _, form := range []float64{0, 0.010} {
			r, _, err := invented(t, phantom.GaugeSpec{Kind: kind, Seed: 9, Form: form, Noise: 0.006, Repeats: 3})
			if err != nil {
				t.Fatal(err)
			}
			if r.FormUM < 1000*least*form || r.FormUM > 1200*form+0.7 || math.Abs(r.NoiseUM-6) > 2 {
				t.Errorf("%s: form %.2f um, noise %.2f um, want %.0f and 6", kind, r.FormUM, r.NoiseUM, 1000*form)
			}
			if r.ScannerUM < 2*r.FormUM {
				t.Errorf("%s: the uncertainty of %.1f um leaves out the form of %.1f um", kind, r.ScannerUM, r.FormUM)
			}
			t.Log(kind, form, r.FormUM, r.NoiseUM, r.ScannerUM)
		}
	}
}

// TestCapsWiden: the less is seen of a sphere, the wider the fit's own
// uncertainty, and the interval holds the truth.
func TestCapsWiden(t *testing.T) {
	last := 0.0
	for _, c := range []float64{110, 70, 50} {
		r, g, err := invented(t, phantom.GaugeSpec{Kind: "sphere", Seed: 11, Scale: 0.001, Noise: 0.008, Repeats: 3, Cap: c})
		if err != nil {
			t.Fatal(err)
		}
		d := r.Dimensions[0]
		t.Logf("cap %g: error %.2f +- %.2f, s %.2f, fit %.2f um", c, 1000*d.Trueness, 1000*d.TruenessU, 1000*d.Scatter, 1000*d.Fit)
		if d.Fit < 1.5*last || math.Abs(d.Trueness-g.Truth.Errors["diameter"]) > d.TruenessU {
			t.Errorf("cap %g: error %.5f +- %.5f, true %.5f, the fit states %.5f after %.5f", c, d.Trueness, d.TruenessU, g.Truth.Errors["diameter"], d.Fit, last)
		}
		last = d.Fit
	}
}

// TestIntervalsOfScans repeats whole checks with coarse scans: 95 % of the
// intervals are to hold the true error, with the binomial scatter of so few.
func TestIntervalsOfScans(t *testing.T) {
	held, all := 0, 0
	for _, kind := range []string{"sphere", "steps", "cylinder"} {
		for seed := range uint64(10) {
			spec := phantom.GaugeSpec{Kind: kind, Seed: 100 + 10*seed, Scale: 0.0015 * float64(int(seed%3)-1), Swing: 0.0003,
				Offset: 0.004 * float64(int(seed%2)), Noise: 0.012, Repeats: 2 + int(seed%3), Edge: 0.3, CalUM: 1 + 2*float64(seed%2)}
			r, g, err := invented(t, spec)
			if err != nil {
				t.Errorf("%s, seed %d: %v", kind, seed, err)
				continue
			}
			d := r.Dimensions[len(r.Dimensions)-1] // one a check: the others of it have the same swing
			all++
			if math.Abs(d.Trueness-g.Truth.Errors[d.Name]) <= d.TruenessU {
				held++
			} else {
				t.Logf("%s, seed %d, %s: %.5f +- %.5f, true %.5f", kind, spec.Seed, d.Name, d.Trueness, d.TruenessU, g.Truth.Errors[d.Name])
			}
		}
	}
	// of 30 at 95 %, fewer than 25 hold in 0.3 % of the cases
	if held < 25 || all != 30 {
		t.Errorf("%d of %d intervals hold the true error", held, all)
	}
	t.Logf("%d of %d intervals hold the true error", held, all)
}

// TestRoughScans has noise far above that of dental scanners: neither the
// errors found nor the form may grow with it. (Distances that were fitted with
// the scan's own noisy places, and patches whose ends depended on the noise,
// did.)
func TestRoughScans(t *testing.T) {
	for _, kind := range []string{"mesh", "sphere"} {
		r, g, err := invented(t, phantom.GaugeSpec{Kind: kind, Seed: 3, Scale: 0.001, Noise: 0.04, Repeats: 3, Edge: 0.12})
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range r.Dimensions {
			if want := g.Truth.Errors[d.Name]; math.Abs(d.Trueness-want) > d.TruenessU {
				t.Errorf("%s, %s: error %.5f +- %.5f, true %.5f", kind, d.Name, d.Trueness, d.TruenessU, want)
			}
		}
		if r.FormUM > 2 || math.Abs(r.NoiseUM-40) > 2 {
			t.Errorf("%s: form %.2f um, noise %.2f um, want 0 and 40", kind, r.FormUM, r.NoiseUM)
		}
	}
}
