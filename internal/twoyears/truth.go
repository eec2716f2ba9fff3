package twoyears

import (
	"math"
	"math/rand/v2"
	"time"

	"crownassay/record"
)

// Truth is what holds in the invented practice. Lengths are mm.
type Truth struct {
	Cuts      [3]float64 // tightness over which half of all contacts are felt light, right, heavy
	Scatter   float64    // logistic scale of what is felt
	Distal    float64    // distal contacts are felt tighter by this
	TightLot  string     // of blocks that come out tighter
	TightBy   float64    // by this
	Off       float64    // the design has this much more overlap than was set
	OffSD     float64
	Loss      map[string]float64 // losses a year, by material
	LossFails float64            // times as many where the program said "fails" at delivery
}

// Usual is the truth of the demonstration.
var Usual = Truth{
	Cuts: [3]float64{-0.012, 0.006, 0.038}, Scatter: 0.007, Distal: 0.005, TightLot: "K-2025-07", TightBy: 0.03, Off: 0.004, OffSD: 0.006,
	Loss: map[string]float64{"zirconia-3y": 0.010, "zirconia-5y": 0.015, "lithium-disilicate": 0.020}, LossFails: 4,
}

// felt draws how a contact of a tightness is felt, in a crown of a lot.
func (w *Truth) felt(rng *rand.Rand, tight float64, distal bool, lot string) record.Felt {
	u := rng.Float64()
	x := tight + w.Scatter*math.Log(u/(1-u))
	if distal {
		x += w.Distal
	}
	if lot == w.TightLot {
		x += w.TightBy
	}
	k := 0
	for k < len(w.Cuts) && x > w.Cuts[k] {
		k++
	}
	return record.Felts[k]
}

// Chance is how often a contact of a tightness is felt in each way, in the
// order of record.Felts, half of them distal, in crowns of usual lots.
func (w *Truth) Chance(tight float64) (out [4]float64) {
	for _, more := range []float64{0, w.Distal} {
		below := 0.0
		for k, c := range w.Cuts {
			b := 1 / (1 + math.Exp(-(c-tight-more)/w.Scatter))
			out[k] += (b - below) / 2
			below = b
		}
		out[3] += (1 - below) / 2
	}
	return out
}

// Begin and End bound the history.
var (
	Begin = time.Date(2024, 7, 1, 0, 0, 0, 0, time.UTC)
	End   = time.Date(2026, 6, 30, 0, 0, 0, 0, time.UTC)
)
