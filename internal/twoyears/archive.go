package twoyears

import (
	"fmt"
	"math/rand/v2"

	"crownassay/internal/phantom"
	"crownassay/practice"
)

// Scan is the invented scan of a crown's preparation.
type Scan struct {
	Row  practice.Row
	Spec phantom.Spec
}

// TaperedBy is the dentist whose walls lean too much in some cases, and
// TaperedOften how often; of the others they do now and then.
var (
	TaperedBy    = "D3"
	TaperedOften = 0.6
)

// Archive invents the preparations of the newest crowns that were made at the
// first try, n of them at most, in the order of their days.
func Archive(rows []practice.Row, n int, seed uint64) []Scan {
	rng := rand.New(rand.NewPCG(seed, 5))
	again := map[string]bool{}
	for _, r := range rows {
		if r.TryIn != nil && r.TryIn.Remade {
			again[r.Patient] = true
		}
	}
	var out []Scan
	for _, r := range rows {
		if r.TryIn == nil || again[r.Patient] {
			continue
		}
		s := phantom.Spec{Name: r.Patient, Tooth: r.Tooth, Material: r.Material, Seed: rng.Uint64N(1 << 32), Noise: 0.006, Correlated: true,
			RandomPose: true, Shuffled: true, Float32: true, Triangles: 16000, Tall: map[bool]float64{true: 1.5, false: 0.3}[r.Tooth[1] >= '6']}
		often := 0.08
		if r.TryIn.Dentist == TaperedBy {
			often = TaperedOften
		}
		switch u := rng.Float64(); {
		case u < often:
			s.Defects = []phantom.Defect{{Kind: phantom.WideTaper, Amount: 24 + 4*rng.Float64()}}
		case u < often+0.1:
			s.Defects = []phantom.Defect{{Kind: phantom.ShortClearance, Azimuth: 30 + 90*float64(rng.IntN(4)), Amount: 0.5 + 0.3*rng.Float64()}}
		}
		s.Title = fmt.Sprintf("patient %s", r.Patient)
		out = append(out, Scan{r, s})
	}
	return out[max(0, len(out)-n):]
}
