package assay

import (
	"context"
	"math"
	"testing"

	"crownassay/geom"
	"crownassay/internal/phantom"
	"crownassay/reading"
	"crownassay/record"
)

// A crown whose file lies lower than the crown in the mouth, by a known motion,
// is found to sit higher by it; the contacts are those of the crown as it sits. Gaps and contacts to 10 um, twice that with noise.
func TestSeated(t *testing.T) {
	for _, c := range []struct {
		tooth      string
		rise, tilt float64 // mm, degrees
		noise      float64
	}{{"46", 0, 0, 0}, {"24", 0.12, 0.8, 0}, {"36", 0.08, 0.5, 0.01}} {
		t.Run(c.tooth, func(t *testing.T) {
			t.Parallel()
			pc, r := seatedCase(t, c.tooth, c.rise, c.tilt, c.noise)
			most := 0.01 * (1 + 100*c.noise)
			if q := findReading(t, r, "seated.rise"); !q.Measured() || math.Abs(q.Value-c.rise) > most {
				t.Errorf("rise %.4f (%s), want %.4f", q.Value, q.Reason, c.rise)
			}
			// 10 um at both sides of a margin 4 mm from its middle
			if q := findReading(t, r, "seated.tilt"); !q.Measured() || math.Abs(q.Value-c.tilt) > most/4*180/math.Pi {
				t.Errorf("tilt %.3f (%s), want %.3f", q.Value, q.Reason, c.tilt)
			}
			want := pc.Truth.Readings["crown.contact.occlusal"]
			if q := findReading(t, r, "seated.contact.occlusal"); !q.Measured() || math.Abs(q.Value-want) > most {
				t.Errorf("occlusal contact %.4f (%s), want %.4f", q.Value, q.Reason, want)
			}
			for _, side := range []string{"mesial", "distal"} {
				want := pc.Truth.Readings["crown.contact."+side]
				if q := findReading(t, r, reading.ID("seated.contact."+side)); !q.Measured() || math.Abs(q.Value-want) > most {
					t.Errorf("%s contact %.4f (%s), want %.4f", side, q.Value, q.Reason, want)
				}
			}
		})
	}
}

// seatedCase measures a case whose crown lies lower and tipped in its file.
func seatedCase(t *testing.T, tooth string, rise, tilt, noise float64) (*phantom.Case, *record.Record) {
	t.Helper()
	spec := phantom.Spec{Tooth: tooth, Seed: 90, RandomPose: true, Shuffled: true, Float32: true, Triangles: 150000, Noise: noise, Crown: &phantom.Crown{Seated: true}}
	pc := invented(t, spec)
	vec := func(v [3]float64) geom.Vec { return geom.V(v[0], v[1], v[2]) }
	axis, mesial, o := vec(pc.Truth.Placement), pc.Mesial, marginMiddle(pc)
	turn := geom.RotationAbout(mesial.Reject(axis).Unit(), tilt*math.Pi/180)
	g := geom.Rigid{R: turn, T: o.Sub(turn.Apply(o)).Add(axis.Mul(rise))}
	pc.Crown = pc.Crown.Move(g.Inverse())
	r, err := Run(context.Background(), loadedFrom(t, pc, t.TempDir()), Options{})
	if err != nil {
		t.Fatal(err)
	}
	return pc, r
}

// marginMiddle is the mean of the margin edge over even azimuths.
func marginMiddle(pc *phantom.Case) geom.Vec {
	var o geom.Vec
	for _, s := range pc.Truth.Crown.Sections {
		o = o.Add(geom.V(s.Margin[0], s.Margin[1], s.Margin[2]).Mul(1 / float64(len(pc.Truth.Crown.Sections))))
	}
	return o
}
