package visit

import (
	"slices"
	"strings"
	"testing"

	"crownassay/conformity"
)

// TestDefault: every material of the table of limits can be planned, and the
// plan names no other.
func TestDefault(t *testing.T) {
	p := Default()
	limits, err := conformity.With("", "")
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range p.Stages {
		for _, m := range s.Only {
			if _, err := limits.Material(m); err != nil {
				t.Errorf("stage %s: %v", s.Name, err)
			}
		}
		for m := range s.Materials {
			if _, err := limits.Material(m); err != nil {
				t.Errorf("stage %s: %v", s.Name, err)
			}
		}
		if s.Status != "common practice" {
			t.Errorf("stage %s: status %q, want what nobody has measured to say so", s.Name, s.Status)
		}
	}
	for material, want := range map[string]string{
		"zirconia-3y":        "design milling sintering try-in polish cementing check",
		"lithium-disilicate": "design milling try-in polish crystallisation cementing check",
		"leucite":            "design milling try-in polish glaze cementing check",
		"resin-infiltrated":  "design milling try-in polish cementing check",
	} {
		got := p.stageNames(material)
		if i := slices.Index(got, "design"); i < 0 || strings.Join(got[i:], " ") != want {
			t.Errorf("stages of %s = %v, want to end with %s", material, got, want)
		}
		// each is after the one before it, whatever was left out between
		stages := p.For(material)
		for i := 1; i < len(stages); i++ {
			if !slices.Contains(stages[i].After, stages[i-1].Name) {
				t.Errorf("%s: %s is after %v, want %s", material, stages[i].Name, stages[i].After, stages[i-1].Name)
			}
		}
	}
}

// TestOverlay lays a practice's own file over the plan.
func TestOverlay(t *testing.T) {
	p, err := With("own.yaml", `
resources:
  - {name: mill, title: Mill, count: 2}
  - {name: laser, title: Laser, count: 1}
stages:
  - {name: onset, omit: true}
  - name: contouring
    title: Gingiva contoured
    after: [preparation]
    needs: [chair, dentist, laser]
    minutes: {median: 3, nine_of_ten: 6, longest: 30}
backs:
  - {name: remake, omit: true}
`)
	if err != nil {
		t.Fatal(err)
	}
	names := p.stageNames("leucite")
	if slices.Contains(names, "onset") || slices.Index(names, "contouring") != slices.Index(names, "preparation")+1 {
		t.Errorf("stages = %v", names)
	}
	if s, _ := p.Stage("removal"); !slices.Equal(s.After, []string{"anaesthesia"}) {
		t.Errorf("removal is after %v, want anaesthesia", s.After)
	}
	if s, _ := p.Stage("contouring"); s.Status != "the practice's own plan" {
		t.Errorf("status = %q", s.Status)
	}
	if _, there := p.Back("remake"); there || p.Count("mill") != 2 {
		t.Errorf("going back by remake is there: %v; mills: %d", there, p.Count("mill"))
	}
}

func TestPlanErrors(t *testing.T) {
	for name, c := range map[string]struct{ text, want string }{
		"field":    {"stages:\n  - {name: milling, minute: 3}\n", `own.yaml:2: stages.0.minute: unknown field "minute"`},
		"order":    {"stages:\n  - name: milling\n    title: Milling\n    minutes: {median: 30, nine_of_ten: 20, longest: 90}\n", "own.yaml:2: stage milling: minutes of median 30, nine_of_ten 20, longest 90: each has to be more"},
		"resource": {"stages:\n  - {name: milling, title: Milling, after: [design], needs: [printer], minutes: {median: 1, nine_of_ten: 2, longest: 9}}\n", `stage milling needs "printer", which is no resource`},
		"circle":   {"stages:\n  - {name: milling, title: Milling, after: [check], minutes: {median: 1, nine_of_ten: 2, longest: 9}}\n", `stage milling is after "check", which does not stand before it`},
		"nowhere":  {"stages:\n  - {name: wash, title: Wash, after: [rinse], minutes: {median: 1, nine_of_ten: 2, longest: 9}}\n", `it is after "rinse", which is no stage`},
		"back":     {"backs:\n  - {name: redo, title: Redo, at: removal, to: check, chance: 0.1, weight: 2}\n", "going back redo: check does not come before removal"},
		"omit":     {"stages:\n  - {name: rinse, omit: true}\n", "there is none to leave out"},
	} {
		if _, err := With("own.yaml", c.text); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want %s", name, err, c.want)
		}
	}
}
