package assay

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"crownassay/internal/golden"
	"crownassay/internal/phantom"
	"crownassay/reading"
	"crownassay/record"
)

// crownFileKinds are what can be wrong with a crown's file as a whole.
var crownFileKinds = []string{phantom.CrownOther, phantom.CrownAway, phantom.CrownUpside, phantom.CrownSolid,
	phantom.CrownInverted, phantom.CrownSeveral, phantom.CrownCrossing, phantom.CrownOpen}

// What is no crown of this preparation is refused in words and without a
// number, as design and as made; what can be mended is mended and said.
func TestCrownRefusals(t *testing.T) {
	var b strings.Builder
	for _, kind := range crownFileKinds {
		dir := t.TempDir()
		spec := phantom.Spec{Tooth: "46", Seed: 3, RandomPose: true, Triangles: 60000, Tall: 1, Crown: &phantom.Crown{Triangles: 30000}, Defects: []phantom.Defect{{Kind: kind}}}
		pc, err := phantom.Build(context.Background(), spec)
		if err != nil {
			t.Fatal(err)
		}
		if err := pc.Write(dir); err != nil {
			t.Fatal(err)
		}
		for _, role := range []Role{Crown, Finished} {
			if role == Finished {
				asFinished(t, dir)
			}
			b.WriteString("== " + kind + ", as " + string(role) + "\n")
			c, err := LoadCase(dir)
			if err != nil {
				t.Fatal(err)
			}
			r, err := Run(context.Background(), c, Options{})
			if err != nil {
				b.WriteString("error: " + withoutFolder(err.Error()) + "\n")
				continue
			}
			for _, n := range r.Notes {
				b.WriteString("note: " + n + "\n")
			}
			if kind == phantom.CrownOpen {
				openCrown(t, r, role)
			}
		}
	}
	golden.Equal(t, "crown-refusals.golden", b.String())
}

// asFinished gives the case's crown as the finished one.
func asFinished(t *testing.T, dir string) {
	t.Helper()
	path := filepath.Join(dir, CaseFile)
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	changed := strings.Replace(string(text), "crown:", "finished:", 1)
	if changed == string(text) {
		t.Fatalf("%s names no crown:\n%s", path, text)
	}
	if err := os.WriteFile(path, []byte(changed), 0o600); err != nil {
		t.Fatal(err)
	}
}

// openCrown holds an outer surface alone to what it can tell: contacts and
// contour, but neither thickness nor fit.
func openCrown(t *testing.T, r *record.Record, role Role) {
	t.Helper()
	id := func(s string) reading.ID {
		if role == Finished {
			return reading.AsMade(reading.ID("crown." + s))
		}
		return reading.ID("crown." + s)
	}
	for _, s := range []string{"contact.mesial", "contact.distal", "contact.occlusal", "contour.emergence.max", "contour.bulge.max", "contour.overhang.max", "ridge.step.mesial"} {
		if q := findReading(t, r, id(s)); !q.Measured() {
			t.Errorf("%s of an outer surface: unmeasured, %s", q.ID, q.Reason)
		}
	}
	for _, s := range []string{"thickness.occlusal", "thickness.axial", "fit.marginal_gap.max", "fit.marginal_gap.mean", "fit.internal.mean", "fit.interference", "strength.radial"} {
		if q := findReading(t, r, id(s)); q.Measured() || q.Reason == "" {
			t.Errorf("%s of an outer surface is %.3f (%q), want it unmeasured with the reason", q.ID, q.Value, q.Reason)
		}
	}
}
