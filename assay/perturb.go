package assay

import (
	"context"
	"math"
	"math/rand/v2"

	"crownassay/curvature"
	"crownassay/geom"
	"crownassay/internal/par"
	"crownassay/mesh"
)

// How a scan is off beyond its noise: smoothly, over lengths from a premolar's
// width to a few teeth's. Shorter ones show as noise, longer ones move a tooth
// as a whole.
const (
	shortestWave = 8.0  // mm
	longestWave  = 24.0 // mm
	waves        = 32   // summed: enough that the sum is near normal
)

// distortion is a smooth random displacement: a sum of plane waves of random
// direction, length, phase and size. Each component of it is near normal, of
// the standard deviation it was made with.
type distortion struct {
	wave  [waves]geom.Vec // 2 pi over the length, along its direction, 1/mm
	phase [waves]float64
	size  [waves]geom.Vec // mm
}

func newDistortion(standard float64, rng *rand.Rand) *distortion {
	d := &distortion{}
	normal := func() geom.Vec { return geom.V(rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64()) }
	for i := range waves {
		length := shortestWave * math.Pow(longestWave/shortestWave, rng.Float64())
		d.wave[i] = normal().Unit().Mul(2 * math.Pi / length)
		d.phase[i] = 2 * math.Pi * rng.Float64()
		d.size[i] = normal().Mul(standard * math.Sqrt(2.0/waves))
	}
	return d
}

func (d *distortion) at(p geom.Vec) geom.Vec {
	var v geom.Vec
	for i := range waves {
		v = v.Add(d.size[i].Mul(math.Cos(d.wave[i].Dot(p) + d.phase[i])))
	}
	return v
}

// perturbation is what a scanner may be off by: noise of the vertices along
// their normals, and distortion. Standard deviations, mm.
type perturbation struct{ noise, distortion float64 }

// drawn returns what one draw does to the surfaces. Scans taken one after the
// other are off independently; a crown was designed on the prepared arch, and
// is off with it.
func (p perturbation) drawn(seed, draw uint64) func(context.Context, Role, *mesh.Mesh) (*mesh.Mesh, error) {
	fields := map[Role]*distortion{}
	for i, r := range Roles {
		fields[r] = newDistortion(p.distortion, rand.New(rand.NewPCG(seed, draw<<8|uint64(i))))
	}
	fields[Crown] = fields[Prepared]
	return func(ctx context.Context, r Role, m *mesh.Mesh) (*mesh.Mesh, error) {
		noise := p.noise
		if r == Crown {
			noise = 0
		}
		return displaced(ctx, m, fields[r], noise, rand.New(rand.NewPCG(seed, draw<<8|uint64(len(Roles)+len(r)))))
	}
}

// displaced is a mesh whose vertices are displaced and noisy.
func displaced(ctx context.Context, m *mesh.Mesh, d *distortion, noise float64, rng *rand.Rand) (*mesh.Mesh, error) {
	out := &mesh.Mesh{V: make([]geom.Vec, len(m.V)), F: m.F}
	along := make([]float64, len(m.V))
	for i := range along {
		along[i] = noise * rng.NormFloat64()
	}
	normals := curvature.Normals(m)
	err := par.Do(ctx, len(m.V), 1024, func(lo, hi int) {
		for i := lo; i < hi; i++ {
			out.V[i] = m.V[i].Add(d.at(m.V[i])).Add(normals[i].Mul(along[i]))
		}
	})
	return out, err
}
