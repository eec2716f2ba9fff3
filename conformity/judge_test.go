package conformity

import (
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"crownassay/reading"
	"crownassay/tooth"
	"crownassay/unit"
)

var lower = Setting{Tooth: tooth.Tooth{Quadrant: 4, Position: 6}, Material: "zirconia-3y"}

func at(azimuth float64) *reading.Place { return &reading.Place{Azimuth: azimuth, HasAzimuth: true} }

func judgeOne(t *testing.T, r reading.Reading, s Setting) reading.Reading {
	t.Helper()
	out, err := Judge([]reading.Reading{r}, BuiltIn(), s)
	if err != nil {
		t.Fatal(err)
	}
	return out[0]
}

// Sentences as they are read out; the first is the issue's own example.
func TestNextStep(t *testing.T) {
	upper := Setting{Tooth: tooth.Tooth{Quadrant: 1, Position: 6}, Material: "cast-metal", ScannerUM: 20}
	front := Setting{Tooth: tooth.Tooth{Quadrant: 1, Position: 1}, Material: "leucite"}
	for _, c := range []struct {
		r    reading.Reading
		s    Setting
		want string
	}{
		{reading.Reading{ID: "preparation.clearance.occlusal", Value: 0.62, At: at(212)}, lower,
			"Distolingual occlusal clearance is 0.62 mm, 0.38 short of 1.00: reduce there, then scan again."},
		{reading.Reading{ID: "preparation.clearance.occlusal", Value: 0.8, At: at(315)}, upper,
			"Mesiopalatal occlusal clearance is 0.80 mm, 0.20 short of 1.00: reduce there, then scan again."},
		{reading.Reading{ID: "finish_line.width.min", Value: 0.4, At: at(90)}, front,
			"Facial finish line width is 0.40 mm, 0.60 short of 1.00: deepen the finish line there, then scan again."},
		{reading.Reading{ID: "preparation.convergence.mean", Value: 26.7}, lower,
			"Mean convergence is 26.7 degrees, 6.7 over 20.0: make these walls more parallel where the tooth allows it, else plan on grooves or on bonding."},
		{reading.Reading{ID: "preparation.convergence.mean", Value: 4}, lower,
			"Mean convergence is 4.0 degrees, 6.0 short of 10.0: open the walls slightly and check that nothing is undercut."},
		{reading.Reading{ID: "scan.holes", Value: 2}, lower,
			"Number of holes in the scan is 2, 2 over 0: dry the tooth and scan the gap again."},
		{reading.Reading{ID: "finish_line.legible", Value: 88, At: at(270)}, lower,
			"Legible share of the finish line is 88 % (worst: lingual), 7 short of 95: retract, dry and scan the finish line again."},
		{reading.Reading{ID: "preparation.clearance.occlusal", Value: 1.01}, lower,
			"Occlusal clearance is 1.01 mm with an uncertainty of 0.04, too near 1.00 to decide (69 % likely to conform): if in doubt, reduce there, then scan again."},
		{reading.Reading{ID: "preparation.clearance.occlusal", Reason: "no opposing surface was given"}, lower,
			"Occlusal clearance could not be measured (no opposing surface was given): scan the opposing arch and the bite."},
		{reading.Reading{ID: "finished.contact.mesial", Value: -0.15, At: at(2), Subs: []reading.Sub{{Name: reading.BelowRidge, Value: 1.62}, {Name: reading.TakeOff, Value: 0.15}, {Name: reading.ThicknessLeft, Value: 0.94}}}, lower,
			"Signed distance to the mesial neighbour as made is -0.150 mm, 0.100 short of -0.050: take off 0.15 mm 1.6 mm below the marginal ridge in small steps and polish; 0.94 mm of thickness is left there."},
		{reading.Reading{ID: "finished.contact.occlusal", Value: -0.2, At: at(90), Subs: []reading.Sub{{Name: reading.TakeOff, Value: 0.2}}}, lower,
			"Signed distance to the opposing teeth as made is -0.200 mm (worst: buccal), 0.140 short of -0.060: take off 0.20 mm there in small steps and polish, thickness permitting."},
		{reading.Reading{ID: "preparation.clearance.occlusal", Value: 1.3}, lower, ""},
		{reading.Reading{ID: "preparation.retention.area", Value: 80}, lower, ""},
	} {
		got := judgeOne(t, c.r, c.s).Next
		if c.want == "" && got != "" || !strings.HasPrefix(got, c.want) {
			t.Errorf("%s %g:\n got %s\nwant %s", c.r.ID, c.r.Value, got, c.want)
		}
	}
}

// The scanner's part by hand: 20 um expanded is 10 um standard; two surfaces
// make 14.1; with 10 um of sampling u is sqrt(200 + 100) = 17.3, U 34.6 um.
func TestBudget(t *testing.T) {
	s := lower
	s.ScannerUM = 20
	r := judgeOne(t, reading.Reading{ID: "preparation.clearance.occlusal", Value: 2,
		Parts: []reading.Part{{Name: "sampling", Standard: 0.010}}}, s)
	if math.Abs(r.Expanded-0.034641) > 1e-6 || len(r.Parts) != 2 || r.Parts[1].Name != "scanner" {
		t.Errorf("U = %.6f of %+v, want 0.034641 of two parts", r.Expanded, r.Parts)
	}
	// An angle over a wall of 2 mm: 57.2958 deg / 2 mm * 0.010 mm = 0.286, U 0.573.
	r = judgeOne(t, reading.Reading{ID: "preparation.convergence.mean", Value: 12, ScannerSensitivity: 57.2958 / 2}, s)
	if math.Abs(r.Expanded-0.572958) > 1e-6 {
		t.Errorf("U of an angle = %.6f, want 0.572958", r.Expanded)
	}
	if r = judgeOne(t, reading.Reading{ID: "scan.holes", Value: 0}, s); r.Expanded != 0 || r.Verdict != reading.Conforms {
		t.Errorf("count = %+v, want no uncertainty", r)
	}
}

func TestZonesHaveTheirOwnLimits(t *testing.T) {
	s := Setting{Tooth: tooth.Tooth{Quadrant: 4, Position: 6}, Material: "cast-metal", ScannerUM: 20}
	r := judgeOne(t, reading.Reading{ID: "preparation.clearance.occlusal", Value: 1.2, At: at(0), Subs: []reading.Sub{
		{Name: reading.FunctionalCusps, Value: 1.2, Unit: unit.Millimetre, At: at(135)},
		{Name: reading.OtherCusps, Value: 1.3, Unit: unit.Millimetre, At: at(270)},
		{Name: "largest", Value: 0.1, Unit: unit.Millimetre},
	}}, s)
	if r.Verdict != reading.Fails || r.Subs[0].Verdict != reading.Fails || r.Subs[1].Verdict != reading.Conforms || r.Subs[2].Verdict != "" {
		t.Errorf("verdicts %s, %s, %s, %q", r.Verdict, r.Subs[0].Verdict, r.Subs[1].Verdict, r.Subs[2].Verdict)
	}
	want := "Distobuccal occlusal clearance over the functional cusps is 1.20 mm, 0.30 short of 1.50: reduce there, then scan again."
	if r.Next != want {
		t.Errorf("got %s\nwant %s", r.Next, want)
	}
}

func TestOwnLimitHolds(t *testing.T) {
	own := 12.0
	r := judgeOne(t, reading.Reading{ID: "preparation.resistance.limit", Value: 8.7,
		OwnLimit: &reading.Limit{Min: &own, Source: "the section's own mean taper", Status: "computed"}}, lower)
	if r.Verdict != reading.Fails || r.Limit.Source != "the section's own mean taper" {
		t.Errorf("verdict %s by %+v", r.Verdict, r.Limit)
	}
}

func TestWorstFirst(t *testing.T) {
	in := []reading.Reading{
		{ID: "scan.spacing", Value: 0.1},                                      // informs
		{ID: "finish_line.depth", Reason: "not built yet"},                    // unmeasured, last
		{ID: "preparation.height.min", Value: 5},                              // conforms
		{ID: "preparation.reduction.axial", Reason: "no surface from before"}, // unmeasured
		{ID: "preparation.clearance.occlusal", Value: 0.9},                    // fails by 2.5 U
		{ID: "preparation.convergence.mean", Value: 20.3},                     // undecided
		{ID: "finish_line.width.min", Value: 0.1},                             // fails by 14 U
		{ID: "preparation.ferrule", Reason: "not built yet"},                  // unmeasured
		{ID: "scan.noise", Value: 0.01},                                       // conforms
	}
	out, err := Judge(in, BuiltIn(), lower)
	if err != nil {
		t.Fatal(err)
	}
	got := make([]string, len(out))
	for i, r := range out {
		got[i] = string(r.ID)
	}
	want := []string{"finish_line.width.min", "preparation.clearance.occlusal", "preparation.convergence.mean",
		"preparation.reduction.axial", "preparation.ferrule", "finish_line.depth",
		"scan.noise", "preparation.height.min", "scan.spacing"}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("order (-want +got):\n%s", d)
	}
	if in[4].Verdict != "" || in[4].Parts != nil {
		t.Errorf("the input was changed: %+v", in[4])
	}
}

func TestJudgeRefuses(t *testing.T) {
	for _, c := range []struct {
		r    reading.Reading
		s    Setting
		want string
	}{
		{reading.Reading{ID: "preparation.colour"}, lower, "not in the table of measurands"},
		{reading.Reading{ID: "scan.noise", Value: math.NaN()}, lower, "value is NaN"},
		{reading.Reading{ID: "scan.noise"}, Setting{Tooth: lower.Tooth, Material: "wood"}, `find material "wood"`},
	} {
		if _, err := Judge([]reading.Reading{c.r}, BuiltIn(), c.s); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("Judge(%+v) = %v, want %q", c.r, err, c.want)
		}
	}
}
