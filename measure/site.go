package measure

import (
	"context"
	"math"
	"slices"
	"sync"

	"crownassay/bvh"
	"crownassay/curvature"
	"crownassay/finishline"
	"crownassay/geom"
	"crownassay/internal/par"
	"crownassay/mesh"
	"crownassay/reading"
)

// Surface is a mesh with what queries need of it.
type Surface struct {
	Mesh  *mesh.Mesh
	Tree  *bvh.Tree
	Loops [][]int32 // border loops, slits left out

	normals []geom.Vec // of the vertices
	adj     *mesh.Adjacency
	crossed crossed
}

// NewSurface prepares a mesh for measuring.
func NewSurface(m *mesh.Mesh) *Surface { return SurfaceOf(m, mesh.Adjacent(m)) }

// SurfaceOf is NewSurface for a mesh whose adjacency is known.
func SurfaceOf(m *mesh.Mesh, a *mesh.Adjacency) *Surface {
	return surfaceOf(m, a, func() *bvh.Tree { return bvh.NewWith(m, a) })
}

func surfaceOf(m *mesh.Mesh, a *mesh.Adjacency, tree func() *bvh.Tree) *Surface {
	s := &Surface{Mesh: m, adj: a}
	par.Together(context.Background(),
		func() error { s.Tree = tree(); return nil },
		func() error { s.Loops = holes(m, a.BorderLoops()); return nil },
		func() error { s.normals = curvature.SphereNormals(m); return nil })
	return s
}

// part is the surface of the facets that keep holds for.
func (s *Surface) part(keep func(facet int) bool) *Surface {
	to := make([]int32, len(s.Mesh.F))
	facets := make([][3]int32, 0, len(to))
	for f, t := range s.Mesh.F {
		if to[f] = -1; keep(f) {
			to[f] = int32(len(facets))
			facets = append(facets, t)
		}
	}
	m := compact(s.Mesh, facets)
	a := mesh.Adjacent(m)
	return surfaceOf(m, a, func() *bvh.Tree { return s.Tree.Part(m, a, to) })
}

// slit is the mean width, mm, up to which a border loop is no hole: what is
// left where a needle of a facet, flat to the file's rounding, was dropped on
// export. Holes of a scan are as wide as its facets. Larger, and small holes
// would go unseen; smaller, and the finish line beside a slit is illegible.
const slit = 0.001

// holes returns the loops that are no slits.
func holes(m *mesh.Mesh, loops [][]int32) [][]int32 {
	return slices.DeleteFunc(loops, func(l []int32) bool { return meanWidth(m, l) <= slit })
}

// meanWidth is the mean width of a narrow loop: twice its area over its length.
func meanWidth(m *mesh.Mesh, loop []int32) float64 {
	length := 0.0
	for i, v := range loop {
		length += m.V[v].Dist(m.V[loop[(i+1)%len(loop)]])
	}
	return 2 * loopArea(m, loop) / math.Max(length, math.SmallestNonzeroFloat64)
}

// Normals returns the vertices' normals.
func (s *Surface) Normals() []geom.Vec { return s.normals }

// lifted returns p, a point of facet f, moved onto the surface that the facet
// stands for. Points of facets at edges and of flat facets stay.
func (s *Surface) lifted(f int32, p geom.Vec) geom.Vec {
	l := curvature.NewLift(s.Mesh, s.normals, f)
	return onSurface(&l, p)
}

// BorderPoints returns the vertices of all border loops.
func (s *Surface) BorderPoints() []geom.Vec {
	var out []geom.Vec
	for _, l := range s.Loops {
		for _, v := range l {
			out = append(out, s.Mesh.V[v])
		}
	}
	return out
}

// Site is a located preparation with everything that readings are made from.
type Site struct {
	Prepared *Surface
	Opposing *Surface // nil when not given
	Before   *Surface // nil when not given
	NoBefore string   // why there is no Before although one was given

	*finishline.Found
	Spacing float64 // mm: median facet edge within 0.5 mm of the finish line
	Noise   float64 // mm: scan noise on the preparation
	CutOff  float64 // mm: how far facets may cut an edge of the tooth off; 0: no farther than Spacing

	Mesial            bool    // the frame's X is mesial; else azimuth 0 is arbitrary
	Posterior         bool    // molar or premolar: occlusal zones exist
	FunctionalLingual bool    // functional cusps are the lingual ones (upper teeth)
	CementSpace       float64 // mm
	LeastThickness    float64 // mm, of the chosen material; 0 when the table has none
	NoThickness       string  // why LeastThickness is 0

	heights, tapers []float64          // per section; NaN where there is no wall
	edges           *edges             // of this site, or of the one it was copied from
	space           *space             // the same
	teeth           [2]func() *Surface // mesial and distal neighbour, cut once
	mirror          *mirrored          // found when first asked for
	divided         *divided           // the same
}

// NewSite completes a Site whose exported fields are set.
func NewSite(s Site) *Site {
	s.mirror, s.divided = &mirrored{}, &divided{}
	s.heights, s.tapers = make([]float64, finishline.Sections), make([]float64, finishline.Sections)
	for k := range s.heights {
		s.heights[k], s.tapers[k] = math.NaN(), math.NaN()
		if w := &s.Walls[k]; w.Ok {
			s.heights[k], s.tapers[k] = w.EdgeZ-s.Line.Z[k], w.Taper
		}
	}
	for i := range s.teeth {
		s.teeth[i] = sync.OnceValue(func() *Surface { return s.cutNeighbour(180 * i) })
	}
	return &s
}

// place is where azimuth index k and a point are.
func (s *Site) place(k int, p geom.Vec) *reading.Place {
	return &reading.Place{Azimuth: float64(wrap(k)), HasAzimuth: s.Mesial, Point: p}
}

// placeOf is the place of a point by its own azimuth.
func (s *Site) placeOf(p geom.Vec) *reading.Place {
	a, _, _ := s.Frame.Cylinder(p)
	return &reading.Place{Azimuth: math.Mod(math.Round(a*10)/10, 360), HasAzimuth: s.Mesial, Point: p}
}

// lineAt returns finish line distance and height at a fractional azimuth.
func (s *Site) lineAt(azimuth float64) (r, z float64) {
	k := int(math.Floor(azimuth))
	t := azimuth - float64(k)
	i, j := wrap(k), wrap(k+1)
	return s.Line.R[i] + t*(s.Line.R[j]-s.Line.R[i]), s.Line.Z[i] + t*(s.Line.Z[j]-s.Line.Z[i])
}

func wrap(k int) int { return (k%finishline.Sections + finishline.Sections) % finishline.Sections }

// unmeasured is a reading without a value.
func unmeasured(id reading.ID, why string) reading.Reading {
	return reading.Reading{ID: id, Reason: why}
}
