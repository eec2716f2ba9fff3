package luting

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"crownassay/conformity"
	"crownassay/reading"
	"crownassay/tooth"
)

// a crown as a run and a person tell of it.
type crown struct {
	material                 string
	class                    tooth.Class
	height, convergence      float64 // mm, degrees
	ratio, resistance, thick float64 // the middle one in degrees
	u                        float64 // expanded uncertainty of every reading
}

// sound is a molar that holds any crown: 4 mm or more, 15 degrees.
func sound(material string) crown {
	return crown{material: material, class: tooth.Molar, height: 4.6, convergence: 15, ratio: 0.5, resistance: 15, thick: 1.8, u: 0.1}
}

var builtInRules = BuiltIn()

var conventional = []string{"resin-modified-glass-ionomer", "glass-ionomer", "zinc-phosphate"}

func (c crown) known(t interface{ Fatal(...any) }, e Entered) Case {
	m, err := conformity.BuiltIn().Material(c.material)
	if err != nil {
		t.Fatal(err)
	}
	own, axial := 7.5, 0.3
	return Case{Material: m, Class: c.class, Entered: e, Readings: []reading.Reading{
		{ID: "preparation.height.min", Value: c.height, Expanded: c.u},
		{ID: "preparation.convergence.mean", Value: c.convergence, Expanded: c.u},
		{ID: "preparation.height_to_base", Value: c.ratio, Expanded: c.u / 10},
		{ID: "preparation.resistance.limit", Value: c.resistance, Expanded: c.u, Limit: &reading.Limit{Min: &own}},
		{ID: "crown.thickness.occlusal", Value: c.thick, Expanded: c.u},
		{ID: "crown.thickness.axial", Value: 0.5, Expanded: 0.01, Limit: &reading.Limit{Min: &axial}},
	}}
}

func (c crown) judged(t interface{ Fatal(...any) }, e Entered) map[string]Answer {
	v, err := builtInRules.Judge(c.known(t, e))
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]Answer{"": {Family: Family{Says: v.Headline}}}
	for _, a := range v.Answers {
		out[a.Family.Name] = a
	}
	return out
}

func depth(mm float64) *float64 { return &mm }

// allEntered is a dry mouth in which nothing stands against a bond.
func allEntered() Entered {
	return Entered{Isolation: "rubber-dam", Depth: depth(0), Substrate: "enamel", Temporary: "none"}
}

// TestPublished holds the answers to what is published: low-strength ceramic,
// below about 350 MPa, is bonded, stronger ceramic on a retentive preparation
// (height of 4 mm or more on molars, convergence of 20 degrees or less) may be
// cemented conventionally, short, over-tapered or thin: bond (reviews, e.g.
// Blatz et al. 2018, J Dent Res 97:132, from memory); height and convergence
// Goodacre, Campagni, Aquilino 2001, J Prosthet Dent 85:363; single crowns of
// class 1 and 2 bonded, of class 3 bonded or cemented (ISO 6872, from memory);
// 0.5 mm of 3Y zirconia held conventionally cemented, 0.2 mm did not (Weigl et
// al. 2018, J Adv Prosthodont 10:79).
func TestPublished(t *testing.T) {
	with := func(c crown, change func(*crown)) crown { change(&c); return c }
	for _, c := range []struct {
		name  string
		crown crown
		want  Standing // of the conventional families
		bond  Standing
	}{
		{"lithium disilicate, 4.6 mm, 15 degrees", sound("lithium-disilicate"), Supported, Supported},
		{"3Y zirconia, 4.6 mm, 15 degrees", sound("zirconia-3y"), Supported, Supported},
		{"5Y zirconia, 4.6 mm, 15 degrees", sound("zirconia-5y"), Supported, Supported},
		{"cast metal, 4.6 mm, 15 degrees", sound("cast-metal"), Supported, Supported},
		{"leucite", sound("leucite"), NotSupported, Supported},
		{"feldspathic", sound("feldspathic"), NotSupported, Supported},
		{"resin-infiltrated", sound("resin-infiltrated"), NotSupported, Supported},
		{"3Y zirconia, 2.5 mm, 25 degrees", with(sound("zirconia-3y"), func(c *crown) { c.height, c.convergence = 2.5, 25 }), NotSupported, Supported},
		{"molar of 3.5 mm", with(sound("zirconia-3y"), func(c *crown) { c.height = 3.5 }), NotSupported, Supported},
		{"premolar of 3.5 mm", with(sound("zirconia-3y"), func(c *crown) { c.height, c.class = 3.5, tooth.Premolar }), Supported, Supported},
		{"26.7 degrees, the mean that is achieved", with(sound("zirconia-3y"), func(c *crown) { c.convergence = 26.7 }), NotSupported, Supported},
		{"wide and low: 0.3", with(sound("zirconia-3y"), func(c *crown) { c.ratio = 0.3 }), NotSupported, Supported},
		{"3Y zirconia of 0.65 mm", with(sound("zirconia-3y"), func(c *crown) { c.thick = 0.65 }), Supported, Supported},
		{"3Y zirconia of 0.2 mm", with(sound("zirconia-3y"), func(c *crown) { c.thick = 0.2 }), NotSupported, Supported},
		{"lithium disilicate of 1.0 mm", with(sound("lithium-disilicate"), func(c *crown) { c.thick = 1 }), NotSupported, Supported},
		{"taper beyond the limiting one", with(sound("zirconia-3y"), func(c *crown) { c.resistance = 6 }), NotSupported, Supported},
	} {
		got := c.crown.judged(t, allEntered())
		for _, f := range conventional {
			if s := got[f].Standing; s != c.want {
				t.Errorf("%s: %s is %s, want %s", c.name, f, s, c.want)
			}
		}
		if s := got["adhesive-resin"].Standing; s != c.bond {
			t.Errorf("%s: adhesive resin is %s, want %s", c.name, s, c.bond)
		}
	}
}

// TestStraddles: 4.05 mm with an uncertainty of 0.1 cannot be told from 4 mm
// (guard band, JCGM 106).
func TestStraddles(t *testing.T) {
	c := sound("zirconia-3y")
	c.height = 4.05
	a := c.judged(t, allEntered())["zinc-phosphate"]
	if a.Standing != Undecided || a.Reasons[0].State != Open || a.Reasons[0].Found != "Least height of the walls is 4.05 ± 0.10 mm, too near 4.00 to decide." {
		t.Errorf("%s: %+v", a.Standing, a.Reasons[0])
	}
}

// TestNothingIsGuessed: what was not measured or entered leaves the family
// undecided and is named.
func TestNothingIsGuessed(t *testing.T) {
	c := sound("zirconia-3y").known(t, Entered{})
	c.Readings[1] = reading.Reading{ID: "preparation.convergence.mean", Reason: "the finish line is not legible"}
	c.Readings = c.Readings[:4]
	v, err := BuiltIn().Judge(c)
	if err != nil {
		t.Fatal(err)
	}
	if strings.Join(v.Missing, ", ") != "isolation, depth of the finish line below the gingiva, substrate, temporary cement before" {
		t.Errorf("missing: %v", v.Missing)
	}
	want := map[string][]string{
		"adhesive-resin": {"Isolation is not entered."},
		"zinc-phosphate": {"Mean convergence was not measured: the finish line is not legible.", "Occlusal thickness is not among the readings of this run.", "Axial thickness is not among the readings of this run."},
	}
	for _, a := range v.Answers {
		var open []string
		for _, q := range a.Reasons {
			if q.State == Open && q.Weight == Needed {
				open = append(open, q.Found)
			}
		}
		if w := want[a.Family.Name]; w != nil && (a.Standing != Undecided || fmt.Sprint(open) != fmt.Sprint(w)) {
			t.Errorf("%s is %s, open: %q, want %q", a.Family.Name, a.Standing, open, w)
		}
	}
	m := c
	m.Material.Mechanics.Strength = 0
	v, _ = BuiltIn().Judge(m)
	if q := v.Answers[4].Reasons[0]; v.Answers[4].Standing == Supported || q.Found != "The flexural strength of the material is not in the limits table." {
		t.Errorf("unknown strength: %+v", q)
	}
}

func TestDryField(t *testing.T) {
	for isolation, want := range map[string]Standing{"": Undecided, "rubber-dam": Supported, "rolls-and-suction": Supported, "not-possible": NotSupported} {
		e := allEntered()
		e.Isolation = isolation
		if got := sound("leucite").judged(t, e); got["adhesive-resin"].Standing != want {
			t.Errorf("isolation %q: %s, want %s", isolation, got["adhesive-resin"].Standing, want)
		}
	}
}

func TestHeadline(t *testing.T) {
	short := sound("zirconia-3y")
	short.height, short.convergence = 2.5, 25
	wet := allEntered()
	wet.Isolation = "not-possible"
	for _, c := range []struct {
		crown crown
		e     Entered
		want  string
	}{
		{sound("zirconia-3y"), allEntered(), "Cement conventionally or bond: both are supported."},
		{sound("zirconia-3y"), Entered{}, "Cement conventionally; whether it can be bonded is undecided."},
		{sound("zirconia-3y"), wet, "Cement conventionally: bonding is not supported."},
		{short, allEntered(), "Bond: conventional cement is not supported."},
		{short, Entered{}, "Undecided: conventional cement is not supported, and whether it can be bonded is open."},
		{short, wet, "Nothing is supported as things are: the reasons say what would have to change."},
	} {
		if got := c.crown.judged(t, c.e)[""].Family.Says; got != c.want {
			t.Errorf("%s, %+v:\n got %s\nwant %s", c.crown.material, c.e, got, c.want)
		}
	}
}

func TestEnteredIsRefused(t *testing.T) {
	for _, c := range []struct {
		e    Entered
		want string
	}{
		{Entered{Isolation: "dam"}, `unknown isolation "dam"; it is one of rubber-dam, rolls-and-suction, not-possible`},
		{Entered{Substrate: "gold"}, `unknown substrate "gold"`},
		{Entered{Temporary: "some"}, `unknown temporary cement "some"`},
		{Entered{Depth: depth(500)}, "a finish line 500 mm below the gingiva; give millimetres"},
	} {
		if _, err := BuiltIn().Judge(sound("leucite").known(t, c.e)); err == nil || !strings.HasPrefix(err.Error(), c.want) {
			t.Errorf("%+v: %v, want %s", c.e, err, c.want)
		}
	}
}

// TestMonotone: a shorter, more tapered, thinner or less sure preparation never
// makes a conventional family better supported.
func TestMonotone(t *testing.T) {
	rank := map[Standing]int{NotSupported: 0, Undecided: 1, Supported: 2}
	materials := []string{"zirconia-3y", "zirconia-4y", "zirconia-5y", "lithium-disilicate", "leucite", "cast-metal"}
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		c := crown{material: rapid.SampledFrom(materials).Draw(t, "material"), class: rapid.SampledFrom(tooth.Classes).Draw(t, "class"),
			height: draw("height", 1, 7), convergence: draw("convergence", 2, 40), ratio: draw("ratio", 0.1, 1),
			resistance: draw("resistance", 2, 30), thick: draw("thick", 0.1, 3), u: draw("u", 0, 0.5)}
		worse := c
		worse.height -= draw("shorter", 0, 3)
		worse.convergence += draw("more tapered", 0, 20)
		worse.ratio -= draw("wider", 0, 0.5)
		worse.resistance -= draw("less resistance", 0, 10)
		worse.thick -= draw("thinner", 0, 2)
		before, after := c.judged(t, allEntered()), worse.judged(t, allEntered())
		for _, f := range conventional {
			if rank[after[f].Standing] > rank[before[f].Standing] {
				t.Fatalf("%s: %s of %+v, but %s of %+v", f, before[f].Standing, c, after[f].Standing, worse)
			}
		}
	})
}
