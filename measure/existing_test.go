package measure

import (
	"math"
	"testing"
)

// overhanging is the profile of a crown that bulges like a circle of 4 mm and
// overhangs a tooth by an amount at height 0: downward over the crown, in below its
// margin, and down the root. Its points are a facet of 0.1 mm apart, the first of
// them so far along that the edges are cut off.
func overhanging(by, phase float64) (u run, edge flat) {
	const radius, facet, middle = 4.0, 0.1, 1.2
	out := func(z float64) float64 { return 5 - radius + math.Sqrt(radius*radius-(z-middle)*(z-middle)) }
	edge = flat{out(0), 0}
	corner := flat{edge.r - by, 0}
	var way []flat
	for z := 2.0; z > 0; z -= 0.001 {
		way = append(way, flat{out(z), z})
	}
	for r := edge.r; r > corner.r; r -= 0.001 {
		way = append(way, flat{r, 0})
	}
	for z := 0.0; z > -1.5; z -= 0.001 {
		way = append(way, flat{corner.r + 0.1*z, z})
	}
	next, gone := phase*facet, 0.0
	for i, p := range way {
		if i > 0 {
			gone += p.dist(way[i-1])
		}
		if gone >= next {
			u.p = append(u.p, p)
			next += facet
		}
	}
	u.facet = make([]int32, len(u.p)-1)
	return u, edge
}

// The old margin's edge comes out where the surfaces beside it meet, though
// facets cut it off: to 10 um (definition).
func TestOldMarginThroughFacets(t *testing.T) {
	for _, by := range []float64{0.15, 0.25, 0.4, 0.6} {
		for phase := 0.0; phase < 1; phase += 0.125 {
			u, edge := overhanging(by, phase)
			arc := u.arcs()
			i, sharp := u.oldMargin(arc, flat{edge.r - by, 0})
			if !sharp {
				t.Errorf("overhang %g, phase %g: no edge", by, phase)
				continue
			}
			got, upward := u.oldCorner(arc, i)
			if math.Abs(got.r-edge.r) > 0.01 {
				t.Errorf("overhang %g, phase %g: edge at %.4f, want %.4f (facets: %.4f)", by, phase, got.r, edge.r, u.p[i].r)
			}
			if upward[0] != got || upward[1].z < upward[0].z {
				t.Errorf("overhang %g, phase %g: upward from %v is %v", by, phase, got, upward[:2])
			}
		}
	}
}

// An edge that noise moved up the crown in one section is found again where
// those beside it are; one that is where they are, and a true step, stay.
func TestStrayEdge(t *testing.T) {
	line := make([]float64, 360)
	for k := range line {
		line[k] = 0.3 * math.Sin(float64(k)*math.Pi/180)
	}
	got := betweenSides(line, strayAround)
	for k := range line {
		if math.Abs(got[k]-line[k]) > 0.002 {
			t.Errorf("section %d: %.4f between its sides, want %.4f", k, got[k], line[k])
		}
	}
	// Down the crown with a kink of 20 degrees above the margin, then in.
	u := run{p: []flat{{5.2, 1}, {5.2, 0.8}, {5.2, 0.6}, {5.2, 0.4}, {5.2, 0.2}, {5.16, 0.1}, {5.12, 0}, {5, 0}, {4.9, 0}, {4.8, 0}}}
	if i := u.edgeNear(flat{5.12, 0.01}, 4); i != 6 {
		t.Errorf("edge at point %d, want 6", i)
	}
	if i := u.edgeNear(flat{5.2, 0.4}, 6); i != -1 {
		t.Errorf("a plain wall gives point %d as an edge", i)
	}
	if i := u.edgeNear(flat{6, 0.4}, 4); i != -1 {
		t.Errorf("a place far off gives point %d", i)
	}
}
