package foreign

import (
	"math"
	"math/rand/v2"

	"crownassay/geom"
)

// Pose is a random motion: any turn, up to 60 mm away.
func Pose(rng *rand.Rand) geom.Rigid {
	d := geom.V(rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64()).Unit()
	t := geom.V(rng.Float64()-0.5, rng.Float64()-0.5, rng.Float64()-0.5).Mul(70)
	return geom.Rigid{R: geom.RotationAbout(d, 2*math.Pi*rng.Float64()), T: t}
}
