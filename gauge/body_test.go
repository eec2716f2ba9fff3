package gauge

import (
	"math"
	"strings"
	"testing"
)

func TestBodies(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"name: a\nkind: sphere\nserial: 7\ndiameter: {mm: 10, uncertainty_um: 0.5}\n", ""},
		{"name: a\nkind: two-spheres\ndiameters: [{mm: 10, uncertainty_um: 0.5}, {mm: 8, uncertainty_um: 0.5}]\ndistance: {mm: 20, uncertainty_um: 1}\n", ""},
		{"name: a\nkind: steps\nsteps: [{mm: 1, uncertainty_um: 0.5}, {mm: 2.5, uncertainty_um: 0.5}]\n", ""},
		{"name: a\nkind: cone\nangle: {deg: 12, uncertainty_deg: 0.01}\ndiameter: {mm: 6, uncertainty_um: 1}\nheight: 4\nfrom: base\n", ""},
		{"name: a\nkind: ball\n", "body.yaml:2: kind:"},
		{"kind: sphere\ndiameter: {mm: 10, uncertainty_um: 0.5}\n", "name is missing"},
		{"name: a\nkind: sphere\n", "body.yaml:2: diameter is missing; a body of kind sphere needs it"},
		{"name: a\nkind: sphere\ndiameter: {mm: 10, uncertainty_um: 0.5}\nheight: 3\n", "body.yaml:4: height: a body of kind sphere has none"},
		{"name: a\nkind: sphere\ndiameter: {mm: 10000, uncertainty_um: 0.5}\n", "body.yaml:3: diameter.mm:"},
		{"name: a\nkind: sphere\ndiameter: {mm: .nan, uncertainty_um: 0.5}\n", "body.yaml:3"},
		{"name: a\nkind: steps\nsteps: [{mm: 1, uncertainty_um: 0.5}, {mm: 1.05, uncertainty_um: 0.5}]\n", "height 2 is not above"},
		{"name: a\nkind: two-spheres\ndiameters: [{mm: 10, uncertainty_um: 0.5}, {mm: 8, uncertainty_um: 0.5}]\ndistance: {mm: 2, uncertainty_um: 1}\n", "body.yaml:4: distance: the spheres would lie in one another"},
		{"name: a\nkind: mesh\nfile: x.stl\nuncertainty_um: 2\ncalibrated: March\n", "calibrated"},
	} {
		_, _, err := parseBody("body.yaml", []byte(c.text))
		if c.want == "" && err != nil || c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want)) {
			t.Errorf("%q: %v, want %q", c.text, err, c.want)
		}
	}
}

// FuzzBody holds that no text makes the reader panic, and that what it takes
// has sizes.
func FuzzBody(f *testing.F) {
	f.Add("name: a\nkind: sphere\ndiameter: {mm: 10, uncertainty_um: 0.5}\n")
	f.Add("name: a\nkind: steps\nsteps: [{mm: 1, uncertainty_um: 0.5}]\n")
	f.Add("name: a\nkind: cone\nangle: {deg: 12, uncertainty_deg: 0.01}\ndiameter: {mm: 6, uncertainty_um: 1}\nheight: 4\nfrom: base\n")
	f.Fuzz(func(t *testing.T, text string) {
		b, _, err := parseBody("body.yaml", []byte(text))
		if err != nil {
			return
		}
		if b.Kind == Sphere && !(b.Diameter.MM > 0 && b.Diameter.MM <= 200 && !math.IsNaN(b.Diameter.UM)) {
			t.Errorf("taken: %+v", b.Diameter)
		}
	})
}
