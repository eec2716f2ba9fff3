package assay

import (
	"context"
	"maps"
	"math"
	"os"
	"slices"
	"strconv"
	"testing"

	"crownassay/conformity"
	"crownassay/internal/phantom"
	"crownassay/reading"
)

// covered counts how often the stated interval held the truth.
type covered struct{ in, of int }

// least is the share of intervals, each stated for 95 %, that hold the truth
// at least (the project's own requirement); where more than 98 % do, the
// uncertainty is wider than it need be, which is allowed.
const leastCovered = 0.92

// TestCoverage: on invented scans with 10 um of noise and distorted by what a
// scanner is off by when the case states nothing, the stated interval holds the
// truth of each reading in at least 92 % of the scans: of the preparation on
// five teeth, and of crowns, which are off with the scans they were designed on,
// on five others with noise alone. 40 scans in all, or as many as
// CROWNASSAY_SCANS says. The table is printed.
func TestCoverage(t *testing.T) {
	if testing.Short() {
		t.Skip("40 scans take a minute")
	}
	scans := 40
	if v, err := strconv.Atoi(os.Getenv("CROWNASSAY_SCANS")); err == nil {
		scans = v
	}
	table := map[reading.ID]*covered{}
	const noise = 0.01
	for i, tooth := range tenTeeth {
		spec := phantom.Spec{Tooth: tooth, Seed: 300 + uint64(i), RandomPose: true, Shuffled: true, Float32: true, Triangles: 80000}
		if i%2 == 0 {
			spec.Crown = &phantom.Crown{Triangles: 60000}
		}
		pc := invented(t, spec)
		pc.Truth.Readings["scan.noise"] = noise
		c := loadedFrom(t, pc, t.TempDir())
		p := perturbation{noise, conformity.DefaultScannerMM}
		if spec.Crown != nil {
			p.distortion = 0 // a design is off with the scans it was made on
		}
		for scan := i; scan < scans; scan += len(tenTeeth) {
			c.perturb = p.drawn(7, uint64(scan))
			r, err := Run(context.Background(), c, Options{})
			if err != nil {
				t.Fatalf("scan %d of tooth %s: %v", scan, tooth, err)
			}
			for _, q := range r.Readings {
				want, known := pc.Truth.Readings[string(q.ID)]
				m, _ := reading.Find(q.ID)
				if !known || q.Expanded == 0 || (m.HoldPoint == reading.Design) != (spec.Crown != nil) {
					continue
				}
				if table[q.ID] == nil {
					table[q.ID] = &covered{}
				}
				table[q.ID].of++
				if q.Measured() && math.Abs(q.Value-want) <= q.Expanded {
					table[q.ID].in++
				} else {
					t.Logf("  scan %d tooth %s %s %.4f true %.4f U %.4f", scan, tooth, q.ID, q.Value, want, q.Expanded)
				}
			}
		}
	}
	for _, id := range slices.Sorted(maps.Keys(table)) {
		c := table[id]
		said := ""
		if atMost(c.in, c.of, leastCovered) < 0.001 {
			said = "  too few"
			t.Errorf("%s: the interval held the truth in %d of %d scans", id, c.in, c.of)
		}
		t.Logf("%-40s %5.1f %% of %d%s", id, 100*float64(c.in)/float64(c.of), c.of, said)
	}
}

// atMost is the probability of k or fewer of n when each has probability p.
func atMost(k, n int, p float64) float64 {
	sum, ln := 0.0, func(x int) float64 { v, _ := math.Lgamma(float64(x) + 1); return v }
	for i := 0; i <= k; i++ {
		sum += math.Exp(ln(n) - ln(i) - ln(n-i) + float64(i)*math.Log(p) + float64(n-i)*math.Log(1-p))
	}
	return sum
}
