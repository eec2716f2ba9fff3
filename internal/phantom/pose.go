package phantom

import (
	"math"
	"math/rand/v2"

	"crownassay/geom"
)

// randomPose draws a rotation, even over all rotations (Shoemake's random
// quaternion, Graphics Gems III, 1992), and a shift of up to 40 mm.
func randomPose(seed uint64) geom.Rigid { return poseFrom(stream(seed, 9)) }

func poseFrom(rng *rand.Rand) geom.Rigid {
	u, t1, t2 := rng.Float64(), 2*math.Pi*rng.Float64(), 2*math.Pi*rng.Float64()
	x, y := math.Sqrt(1-u)*math.Sin(t1), math.Sqrt(1-u)*math.Cos(t1)
	z, w := math.Sqrt(u)*math.Sin(t2), math.Sqrt(u)*math.Cos(t2)
	v := geom.Vec{X: x, Y: y, Z: z}
	r := geom.RotationAbout(v.Unit(), 2*math.Atan2(v.Norm(), w))
	return geom.Rigid{R: r, T: geom.V(uniform(rng, -40, 40), uniform(rng, -40, 40), uniform(rng, -40, 40))}
}

// toFile moves a point of the prepared tooth's frame to the written files.
func (m *model) toFile(p geom.Vec) geom.Vec { return m.pose.Apply(m.target.frame.toArch(p)) }

// turnToFile does the same with a direction.
func (m *model) turnToFile(d geom.Vec) geom.Vec {
	f := m.target.frame
	return m.pose.Turn(f.m.Mul(d.X).Add(f.b.Mul(d.Y)).Add(f.z.Mul(d.Z)))
}
