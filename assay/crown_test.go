package assay

import (
	"fmt"
	"testing"

	"crownassay/internal/phantom"
)

// crownTeeth are the teeth whose crowns are measured against their truth.
var crownTeeth = []string{"11", "24", "36", "46"}

// crownOf is a crown that is off in several ways: margin open over one arc,
// overhanging over another and short over a third, one contact open, one heavy.
func crownOf(i int) *phantom.Crown {
	return &phantom.Crown{
		Gap:      phantom.Round{Base: 0.04, Arcs: []phantom.Arc{{Azimuth: 60, Extent: 50, Value: 0.13}}},
		Overhang: phantom.Round{Base: 0.01, Arcs: []phantom.Arc{{Azimuth: 250, Extent: 50, Value: 0.22}, {Azimuth: 150, Extent: 40, Value: -0.12}}},
		Mesial:   &phantom.Touch{Distance: -0.04 + 0.01*float64(i), Half: 2.2},
		Distal:   &phantom.Touch{Distance: 0.06, Half: 2.2},
	}
}

// Every reading of a crown, of the milled copy and of the restoration before,
// these two partly in frames of their own, lies within what is allowed, and
// within twice that with 10 um of noise on the scans; of two scans, as
// ofTwoScans says.
func TestCrowns(t *testing.T) {
	for i, tooth := range crownTeeth {
		noise := 0.01 * float64(i%2)
		t.Run(fmt.Sprintf("%s noise %v", tooth, noise), func(t *testing.T) {
			t.Parallel()
			spec := phantom.Spec{Tooth: tooth, Seed: 300 + uint64(i), RandomPose: true, Shuffled: true, Float32: true, Triangles: 150000, Noise: noise, Crown: crownOf(i)}
			spec.Crown.Finished = &phantom.Made{Own: i < 2}
			spec.Crown.Before = &phantom.Old{Own: i%3 == 0, Overhang: phantom.Round{Arcs: []phantom.Arc{{Azimuth: 200, Extent: 60, Value: 0.15 + 0.1*float64(i)}}}}
			pc, r, err := measured(t, spec)
			if err != nil {
				t.Fatal(err)
			}
			for _, f := range faults(pc, r, 1+100*noise) {
				t.Error(f)
			}
		})
	}
}
