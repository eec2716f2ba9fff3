package measure

import (
	"math"
	"testing"

	"crownassay/geom"
	"crownassay/internal/shape"
	"crownassay/reading"
)

// TestNeighbours: beyond the finish line the root goes down 1 mm to the
// gingiva, which runs level to a tooth's side: a wall that leans away from the
// preparation by 20 degrees. Turned around the axis only within 70 degrees of
// distal, so that there is none on the mesial side. From (R, 0) the shortest
// way to a line through (R + d, -1) inclined 20 degrees is (d + tan 20) cos 20.
func TestNeighbours(t *testing.T) {
	const lean = 20 * math.Pi / 180
	for _, d := range []float64{1.5, 2.5} {
		path := func(az float64) shape.Path {
			p := shape.Prep{Radius: 4, Width: 0.8, Height: 4, Taper: 6, Rim: 0.3, Root: 0, Deep: 1}.Path()
			p = append(p, shape.Point{R: 4 + d, Z: -1})
			if math.Abs(math.Remainder(az-180, 360)) > 70 {
				return append(p, shape.Point{R: 7.8, Z: -1}, shape.Point{R: 9.5, Z: -1})
			}
			return append(p, shape.Point{R: 4 + d + 6*math.Tan(lean), Z: 5}, shape.Point{R: 11, Z: 5})
		}
		a := anywhere(6)
		a.exact = true
		s := a.site(t, shape.Lathe(path, 0.1, 4))
		rs := s.neighbours()
		want := (d + math.Tan(lean)) * math.Cos(lean)
		if got := take(t, rs, "finish_line.neighbour.distal").Value; !near(got, want, 0.02) {
			t.Errorf("%.1f mm away: distal = %.4f, want %.4f", d, got, want)
		}
		if rs[0].Measured() {
			t.Errorf("a mesial neighbour at %v where there is none", rs[0].Value)
		}
	}
}

// bite makes a site of flatTop with a level ring of arch around it at height
// 3, and an opposing plate whose height over the ring is known.
func bite(t *testing.T, opposing float64, ball bool) (overlap reading.Reading, contacts reading.Reading) {
	t.Helper()
	a := anywhere(6)
	a.exact = true
	ring := shape.Lathe(shape.Round(shape.Path{{R: 7, Z: 3}, {R: 12, Z: 3}}), 0.2, 1)
	m := shape.Joined(shape.Lathe(shape.Round(flatTop.Path()), 0.1, 1), ring)
	s := a.site(t, m)
	op := shape.Inverted(shape.Plate(3+opposing, 14, 0.5))
	if ball { // two cusps, in front and behind, 0.1 into the ring
		for _, x := range []float64{9.5, -9.5} {
			op = shape.Joined(op, shape.Ball(geom.V(x, 0, 3-0.1+1), 1, 0.1))
		}
	}
	s.Opposing = NewSurface(op.Move(a.move))
	rs, err := s.Bite(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return take(t, rs, "scan.bite.overlap"), take(t, rs, "scan.bite.contacts")
}

// TestBite: a plate above leaves no overlap and touches from 0.05 mm on
// (definition); below the ring it overlaps by its depth; two balls touch twice.
func TestBite(t *testing.T) {
	for _, c := range []struct {
		height, overlap, contacts float64
	}{{0.2, 0, 0}, {0.04, 0, 1}, {-0.3, 0.3, 1}} {
		o, n := bite(t, c.height, false)
		if !near(o.Value, c.overlap, 1e-9) || n.Value != c.contacts {
			t.Errorf("plate at %v: overlap %v, contacts %v, want %v, %v", c.height, o.Value, n.Value, c.overlap, c.contacts)
		}
	}
	o, n := bite(t, 1.5, true)
	// the robust extreme of a ball's cap: r^2 = 0.05/pi less deep by r^2/2 R;
	// vertices 0.2 mm apart stand for their share of the area
	want := 0.1 - leastArea/math.Pi/2
	if !near(o.Value, want, 0.015) || n.Value != 2 {
		t.Errorf("two cusps: overlap %.4f, contacts %v, want %.4f, 2", o.Value, n.Value, want)
	}
	if n.Subs[0].Value != 1 || n.Subs[1].Value != 1 {
		t.Errorf("in front %v, behind %v, want 1 and 1", n.Subs[0].Value, n.Subs[1].Value)
	}
}
