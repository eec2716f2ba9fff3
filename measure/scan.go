package measure

import (
	"context"
	"fmt"
	"math"
	"slices"

	"crownassay/curvature"
	"crownassay/finishline"
	"crownassay/geom"
	"crownassay/internal/par"
	"crownassay/mesh"
	"crownassay/reading"
)

// Where the scan is looked at. Lengths mm.
const (
	spacingNear = 0.5  // facet edges within this of the finish line
	holeDepth   = 1.5  // how far below the finish line a hole counts
	holeBeside  = 1.0  // how far outside of it
	noiseRadius = 0.3  // of the fitted quadric
	noiseSpots  = 1500 // vertices tried at most: their median is good to 3 %

	noiseTogether = 128 // of them one processor looks at in one go
)

// Scan makes the readings of the scan of the preparation.
func (s *Site) Scan() []reading.Reading {
	out := []reading.Reading{s.holes()}
	out = append(out, reading.Reading{ID: "scan.spacing", Value: s.Spacing,
		Parts: []reading.Part{{Name: "spread of the edges", Standard: 0.05 * s.Spacing}}})
	if math.IsNaN(s.Noise) {
		return append(out, unmeasured("scan.noise", "too few vertices lie within 0.3 mm of one another to fit a surface"))
	}
	return append(out, reading.Reading{ID: "scan.noise", Value: s.Noise,
		Parts: []reading.Part{{Name: "fit of the surface", Standard: 0.0005 + 0.15*s.Noise}}})
}

// Spacing returns the median length of the facet edges within 0.5 mm of the
// finish line; ok is false when there are none.
func Spacing(m *mesh.Mesh, f *finishline.Found) (float64, bool) {
	l := edgesNear(m, f)
	return finishline.Median(l), len(l) > 0
}

// longShare is the share of the facet edges near the finish line that are no
// longer than what LongEdge returns.
const longShare = 0.9

// LongEdge returns the length that nine of ten facet edges within 0.5 mm of
// the finish line do not exceed; 0 when there are none. Meshes cut from a
// volume have many short edges, and their median says little about how far
// a facet cuts across an edge of the tooth.
func LongEdge(m *mesh.Mesh, f *finishline.Found) float64 {
	l := edgesNear(m, f)
	if len(l) == 0 {
		return 0
	}
	slices.Sort(l)
	return l[int(longShare*float64(len(l)-1))]
}

// edgesNear returns the lengths of the facet edges within 0.5 mm of the finish
// line.
func edgesNear(m *mesh.Mesh, f *finishline.Found) []float64 {
	in := make([]bool, len(m.V))
	for i, v := range m.V {
		a, r, z := f.Frame.Cylinder(v)
		k := wrap(int(math.Round(a)))
		in[i] = math.Hypot(r-f.Line.R[k], z-f.Line.Z[k]) <= spacingNear
	}
	var l []float64
	for _, t := range m.F {
		for k := range 3 {
			if a, b := t[k], t[(k+1)%3]; in[a] && in[b] {
				l = append(l, m.V[a].Dist(m.V[b]))
			}
		}
	}
	return l
}

// MedianEdge returns the median length of all facet edges.
func MedianEdge(m *mesh.Mesh) float64 {
	l := make([]float64, 0, len(m.F))
	for f := range m.F {
		a, b, _ := m.Corner(int32(f))
		l = append(l, a.Dist(b))
	}
	return finishline.Median(l)
}

// Noise returns the robust RMS distance of vertices from quadrics fitted
// within 0.3 mm over the preparation: the median over its vertices of the
// fits' residuals, so that edges, where no quadric fits, do not count. NaN
// when fewer than 20 vertices have neighbours enough.
func Noise(s *Surface, f *finishline.Found) float64 {
	var inside []int32
	for i, v := range s.Mesh.V {
		a, r, z := f.Frame.Cylinder(v)
		k := wrap(int(math.Round(a)))
		if r < f.Line.R[k]-0.3 && z > f.Line.Z[k] {
			inside = append(inside, int32(i))
		}
	}
	stride := max(1, len(inside)/noiseSpots)
	rms := make([]float64, (len(inside)+stride-1)/stride)
	s.Tree.Ready()
	par.Do(context.Background(), len(rms), noiseTogether, func(lo, hi int) {
		var ball []int32
		var pts []geom.Vec
		for i := lo; i < hi; i++ {
			p := s.Mesh.V[inside[i*stride]]
			ball = s.Tree.BallVertices(p, noiseRadius, ball[:0])
			pts = pts[:0]
			for _, v := range ball {
				pts = append(pts, s.Mesh.V[v])
			}
			rms[i] = math.NaN()
			if fit, ok := curvature.Quadric(pts, p, s.normalNear(p)); ok && fit.N >= 9 {
				rms[i] = fit.RMS
			}
		}
	})
	if rms = slices.DeleteFunc(rms, math.IsNaN); len(rms) < 20 {
		return math.NaN()
	}
	return finishline.Median(rms)
}

// normalNear is the surface's normal at its point nearest to p.
func (s *Surface) normalNear(p geom.Vec) geom.Vec {
	h, ok := s.Tree.Closest(p, 1)
	if !ok {
		return geom.V(0, 0, 1)
	}
	return s.Tree.FeatureNormal(h)
}

// holes counts border loops near the preparation. The outer border of the
// scan, which runs round the tooth without touching the finish line, is none.
func (s *Site) holes() reading.Reading {
	count, largest := 0, 0.0
	var at geom.Vec
	for _, loop := range s.Prepared.Loops {
		if !s.isHole(loop) {
			continue
		}
		count++
		if a := loopArea(s.Prepared.Mesh, loop); a > largest {
			largest = a
			at = s.Prepared.Mesh.V[loop[0]]
		}
	}
	r := reading.Reading{ID: "scan.holes", Value: float64(count)}
	if count > 0 {
		r.At = s.placeOf(at)
		r.Note = fmt.Sprintf("the largest has %.2f mm^2", largest)
		r.Subs = []reading.Sub{{Name: "area of the largest", Value: largest, Unit: "mm^2", At: r.At}}
	}
	return r
}

// isHole reports whether a border loop enters the region of the preparation.
func (s *Site) isHole(loop []int32) bool {
	enters, touches, wind := false, false, 0.0
	prev := math.NaN()
	for i := 0; i <= len(loop); i++ {
		a, r, z := s.Frame.Cylinder(s.Prepared.Mesh.V[loop[i%len(loop)]])
		if !math.IsNaN(prev) {
			wind += math.Remainder(a-prev, 360)
		}
		prev = a
		lr, lz := s.lineAt(a)
		if r < lr+holeBeside && z > lz-holeDepth {
			enters = true
			touches = touches || (r < lr+0.2 && z > lz-0.2)
		}
	}
	if math.Abs(wind) > 180 {
		return touches
	}
	return enters
}

// loopArea is the area of a loop's vector area, mm^2.
func loopArea(m *mesh.Mesh, loop []int32) float64 {
	var s geom.Vec
	o := m.V[loop[0]]
	for i := range loop {
		s = s.Add(m.V[loop[i]].Sub(o).Cross(m.V[loop[(i+1)%len(loop)]].Sub(o)))
	}
	return s.Norm() / 2
}
