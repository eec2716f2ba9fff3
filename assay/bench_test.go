package assay

import (
	"context"
	"testing"

	"crownassay/internal/phantom"
)

// BenchmarkCase measures a whole case of two surfaces of 200,000 facets from
// its files.
func BenchmarkCase(b *testing.B) {
	pc, err := phantom.Build(context.Background(), phantom.Spec{Tooth: "46", Seed: 1, RandomPose: true, Shuffled: true, Float32: true, Noise: 0.006})
	if err != nil {
		b.Fatal(err)
	}
	dir := b.TempDir()
	if err := pc.Write(dir); err != nil {
		b.Fatal(err)
	}
	c, err := LoadCase(dir)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Run(context.Background(), c, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
