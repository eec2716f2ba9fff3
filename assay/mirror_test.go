package assay

import (
	"math"
	"testing"

	"crownassay/internal/phantom"
)

// mirrorAllowed is what is allowed of a deviation from the mirrored
// tooth, mm, with no noise: as for clearances.
const mirrorAllowed = 0.02

// Invented arches are symmetric by their formula, so the tooth of the other
// side, mirrored, is known exactly in this one's place.
func TestAgainstMirror(t *testing.T) {
	for i, tooth := range []string{"46", "15", "21"} {
		t.Run(tooth, func(t *testing.T) {
			t.Parallel()
			noise := 0.01 * float64(i%2)
			spec := phantom.Spec{Tooth: tooth, Seed: 70 + uint64(i), RandomPose: true, FullArch: true, Shuffled: true, Float32: true, Triangles: 220000, Noise: noise,
				Defects: []phantom.Defect{{Kind: phantom.OverContour, Azimuth: 90 + 180*float64(i%2), Amount: 0.4}}}
			pc, r, err := measured(t, spec)
			if err != nil {
				t.Fatal(err)
			}
			q := findReading(t, r, "crown.contour.against_mirror")
			want, known := pc.Truth.Readings["crown.contour.against_mirror"]
			if !known || !q.Measured() {
				t.Fatalf("against_mirror %v (%s), truth known: %v", q.Value, q.Reason, known)
			}
			if math.Abs(q.Value-want) > mirrorAllowed*(1+100*noise) {
				t.Errorf("against_mirror = %.4f, want %.4f", q.Value, want)
			}
			at := pc.Truth.Places["crown.contour.against_mirror"]
			if d := math.Hypot(math.Hypot(q.At.Point.X-at[0], q.At.Point.Y-at[1]), q.At.Point.Z-at[2]); d > 1 {
				t.Errorf("found %.1f mm from the place of the truth", d)
			}
			t.Logf("%.4f, truth %.4f, U %.3f", q.Value, want, q.Expanded)
		})
	}
}

// A scan of a quadrant has no tooth of the other side, and says so.
func TestNoMirror(t *testing.T) {
	for _, tooth := range []string{"46", "11"} {
		_, r, err := measured(t, phantom.Spec{Tooth: tooth, Seed: 3, RandomPose: true, Triangles: 100000, Crown: &phantom.Crown{}})
		if err != nil {
			t.Fatal(err)
		}
		if q := findReading(t, r, "crown.contour.against_mirror"); q.Measured() || q.Reason == "" {
			t.Errorf("%s: against_mirror = %v of a quadrant", tooth, q.Value)
		} else {
			t.Logf("%s: %s", tooth, q.Reason)
		}
	}
}
