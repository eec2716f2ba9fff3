package assay

import (
	"context"
	"testing"

	"crownassay/internal/phantom"
)

// benchCase writes an invented case and measures it from its files again and
// again.
func benchCase(b *testing.B, spec phantom.Spec) {
	b.Helper()
	c := loadedFrom(b, invented(b, spec), b.TempDir())
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Run(context.Background(), c, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkCase measures a whole case of two surfaces of 200,000 facets.
func BenchmarkCase(b *testing.B) {
	benchCase(b, phantom.Spec{Tooth: "46", Seed: 1, RandomPose: true, Shuffled: true, Float32: true, Noise: 0.006})
}

// BenchmarkFive measures five surfaces of 200,000 facets: both arches, the
// arch before, the crown as designed and as made, each of the last two with all
// its readings.
func BenchmarkFive(b *testing.B) {
	benchCase(b, phantom.Spec{Tooth: "46", Seed: 1, RandomPose: true, Shuffled: true, Float32: true, Noise: 0.006,
		Crown: &phantom.Crown{Triangles: 200000, Finished: &phantom.Made{}, Before: &phantom.Old{}}})
}
