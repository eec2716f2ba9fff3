package settings

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/diff/fd"
	"gonum.org/v1/gonum/mat"

	"crownassay/internal/rscript"
)

// The housing data of MASS (Venables & Ripley, Modern Applied Statistics with
// S): satisfaction low, medium, high of 1681 residents. Rows are influence low,
// medium, high within type tower, apartment, atrium, terrace within contact
// low, high; figures are the counts.
var housing = [24][3]float64{
	{21, 21, 28}, {34, 22, 36}, {10, 11, 36}, {61, 23, 17}, {43, 35, 40}, {26, 18, 54}, {13, 9, 10}, {8, 8, 12}, {6, 7, 9}, {18, 6, 7}, {15, 13, 13}, {7, 5, 11},
	{14, 19, 37}, {17, 23, 40}, {3, 5, 23}, {78, 46, 43}, {48, 45, 86}, {15, 25, 62}, {20, 23, 20}, {10, 22, 24}, {7, 10, 21}, {57, 23, 13}, {31, 21, 13}, {5, 6, 13},
}

// houses is that table as observations with weights; the figures are influence
// medium and high, type apartment, atrium and terrace, contact high.
func houses() *odds {
	o := &odds{Levels: 3, Columns: 6}
	for i, counts := range housing {
		x := []figure{{5, float64(i / 12)}}
		if infl := i % 3; infl > 0 {
			x = append(x, figure{infl - 1, 1})
		}
		if kind := i / 3 % 4; kind > 0 {
			x = append(x, figure{1 + kind, 1})
		}
		for y, n := range counts {
			o.Y, o.X, o.Weight = append(o.Y, y), append(o.X, x), append(o.Weight, n)
		}
	}
	return o
}

// fit is the maximum of the likelihood.
func fit(o *odds) (*top, error) { return maximize(o, o.start()) }

func (t *top) se(i int) float64 { return math.Sqrt(t.Cov.At(i, i)) }

// TestHousing holds the fit to the published one (Venables & Ripley, as MASS
// prints it).
func TestHousing(t *testing.T) {
	f, err := fit(houses())
	if err != nil {
		t.Fatal(err)
	}
	want := []float64{-0.4961351, 0.6907083, 0.5663937, 1.2888191, -0.5723500, -0.3661864, -1.0910147, 0.3602840}
	for i, w := range want {
		if math.Abs(f.P[i]-w) > 2e-5 {
			t.Errorf("parameter %d = %.7f, want %.7f", i, f.P[i], w)
		}
	}
	for i, w := range map[int]float64{2: 0.1046528, 3: 0.1271561} {
		if math.Abs(f.se(i)-w) > 2e-6 {
			t.Errorf("standard error %d = %.7f, want %.7f", i, f.se(i), w)
		}
	}
	if d := -2 * f.Log; math.Abs(d-3479.149) > 5e-4 {
		t.Errorf("deviance = %.4f, want 3479.149", d)
	}
}

// TestAgainstPolr holds data and fit to what polr of MASS makes of them now.
func TestAgainstPolr(t *testing.T) {
	o := &odds{Levels: 3, Columns: 6}
	said := map[string][]float64{}
	for _, row := range rscript.Run(t, []string{"MASS"}, "testdata/housing.R") {
		v := rscript.Numbers(t, row[1:len(row)-1])
		if row[0] == "row" {
			var x []figure
			for j, f := range v[1:7] {
				x = append(x, figure{j, f})
			}
			o.Y, o.X, o.Weight = append(o.Y, int(v[0])), append(o.X, x), append(o.Weight, v[7])
			continue
		}
		said[row[0]] = v
	}
	own, err := fit(houses())
	if err != nil {
		t.Fatal(err)
	}
	f, err := fit(o)
	if err != nil {
		t.Fatal(err)
	}
	for i := range f.P {
		if math.Abs(f.P[i]-own.P[i]) > 1e-9 {
			t.Errorf("parameter %d = %.9f with the data of MASS, %.9f with the table here", i, f.P[i], own.P[i])
		}
		if math.Abs(f.P[i]-said["fit"][i]) > 2e-5 || math.Abs(f.se(i)-said["se"][i]) > 2e-5 {
			t.Errorf("parameter %d = %.7f (%.7f), polr has %.7f (%.7f)", i, f.P[i], f.se(i), said["fit"][i], said["se"][i])
		}
	}
	if d := -2 * f.Log; math.Abs(d-said["deviance"][0]) > 1e-6 {
		t.Errorf("deviance = %.7f, polr has %.7f", d, said["deviance"][0])
	}
}

// TestDerivatives holds gradient and Hessian to differences, also far out.
func TestDerivatives(t *testing.T) {
	o := houses()
	for _, p := range [][]float64{o.start(), {-1, 2, .3, 1, -2, .5, 1, -.2}, {-30, 8, 1, 12, -3, 9, 1, -20}} {
		grad, hess := make([]float64, len(p)), mat.NewSymDense(len(p), nil)
		o.at(p, grad, hess)
		want := fd.Gradient(nil, func(x []float64) float64 { return o.at(x, nil, nil) }, p, &fd.Settings{Formula: fd.Central})
		for i := range p {
			if math.Abs(grad[i]-want[i]) > 1e-4*(1+math.Abs(want[i])) {
				t.Errorf("at %v: slope %d = %g, differences give %g", p, i, grad[i], want[i])
			}
			row := fd.Gradient(nil, func(x []float64) float64 {
				g := make([]float64, len(x))
				o.at(x, g, nil)
				return g[i]
			}, p, &fd.Settings{Formula: fd.Central})
			for j := range p {
				if math.Abs(hess.At(i, j)-row[j]) > 1e-4*(1+math.Abs(row[j])) {
					t.Errorf("at %v: Hessian %d, %d = %g, differences give %g", p, i, j, hess.At(i, j), row[j])
				}
			}
		}
	}
}

// TestNoMaximum: levels that are told apart without a fault have no fit.
func TestNoMaximum(t *testing.T) {
	o := &odds{Levels: 2, Columns: 1, Y: []int{0, 0, 1, 1}, X: [][]figure{{{0, 1}}, {{0, 2}}, {{0, 3}}, {{0, 4}}}}
	if f, err := fit(o); err == nil {
		t.Errorf("a fit %v without a maximum", f)
	}
}
