package align

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"crownassay/geom"
	"crownassay/internal/shape"
)

// A descriptor does not depend on the pose: of the same samples, moved, it
// differs by what rounding shifts from one bin to the next, seldom and little.
func TestDescriptorsDoNotFeelThePose(t *testing.T) {
	s := samplesOf(reliefOf(1).scan(0.3, 1, nil), nil, 0.6)
	g := shape.Pose(rand.New(rand.NewPCG(11, 1)))
	moved := make([]sample, len(s))
	for i := range s {
		moved[i] = sample{g.Apply(s[i].p), g.Turn(s[i].n), s[i].area}
	}
	a, okA, _ := descriptors(context.Background(), newGrid(s, 2.5))
	b, okB, _ := descriptors(context.Background(), newGrid(moved, 2.5))
	if !slices.Equal(okA, okB) {
		t.Fatal("other samples have a descriptor")
	}
	off := 0
	for i := range a {
		if a[i].distSq(&b[i]) > 1e-3 {
			off++
		}
	}
	if off > len(a)/50 {
		t.Errorf("%d of %d descriptors differ", off, len(a))
	}
}

// The measure of a turn grows with its angle all the way round, and is exact at
// the quarters.
func TestTurnMeasure(t *testing.T) {
	last := -2.0
	for k := -179; k <= 180; k++ {
		s, c := math.Sincos(float64(k) * math.Pi / 180)
		if k == 180 {
			s = 0
		}
		got := turnMeasure(s, c)
		if got <= last {
			t.Fatalf("%d degrees: %g after %g", k, got, last)
		}
		if k%90 == 0 && math.Abs(got-float64(k)/180) > 1e-12 {
			t.Errorf("%d degrees: %g, want %g", k, got, float64(k)/180)
		}
		last = got
	}
}

// The grid finds what a scan over all samples finds.
func TestGridIsTheScan(t *testing.T) {
	s := samplesOf(reliefOf(2).scan(0.4, 1, nil), nil, 0.6)
	g := newGrid(s, 1.7)
	for i := range s {
		got := g.around(s[i].p, nil)
		slices.Sort(got)
		var want []int32
		for j := range s {
			if s[j].p.DistSq(s[i].p) <= 1.7*1.7 {
				want = append(want, int32(j))
			}
		}
		if !slices.Equal(got, want) {
			t.Fatalf("sample %d: %v, want %v", i, got, want)
		}
	}
}

// Samples keep the area of what they gather and lie on the surface: on a plate
// exactly, long facets cut or not.
func TestSamplesOfAPlate(t *testing.T) {
	for _, edge := range []float64{0.1, 4} {
		s := samplesOf(shape.Plate(1, 6, edge), nil, 0.75) // 16 cubes across
		sum := 0.0
		for i := range s {
			sum += s[i].area
			if math.Abs(s[i].p.Z-1) > 1e-12 || s[i].n.Dist(geom.V(0, 0, 1)) > 1e-12 {
				t.Fatalf("edge %g: sample %d is off the plate: %+v", edge, i, s[i])
			}
		}
		if math.Abs(sum/144-1) > 1e-9 || len(s) < 200 {
			t.Errorf("edge %g: %d samples of %g mm^2, want 144 mm^2", edge, len(s), sum)
		}
	}
}
