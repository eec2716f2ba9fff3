package assay

import (
	"context"
	"math"
	"slices"
	"syscall"
	"testing"
	"time"

	"crownassay/geom"
	"crownassay/internal/phantom"
	"crownassay/reading"
)

// held measures an invented case and holds it open.
func held(t testing.TB, spec phantom.Spec) (*phantom.Case, *Measured) {
	t.Helper()
	pc := invented(t, spec)
	m, err := Measure(context.Background(), loadedFrom(t, pc, t.TempDir()), Options{})
	if err != nil {
		t.Fatal(err)
	}
	return pc, m
}

// every returns each n-th point.
func every(pts []geom.Vec, n int) (out []geom.Vec) {
	for i := 0; i < len(pts); i += n {
		out = append(out, pts[i])
	}
	return out
}

func valueOf(t testing.TB, m *Measured, id reading.ID) reading.Reading {
	t.Helper()
	i := slices.IndexFunc(m.Record.Readings, func(r reading.Reading) bool { return r.ID == id })
	if i < 0 {
		t.Fatalf("no reading %s", id)
	}
	return m.Record.Readings[i]
}

// movedBy is the traced line with every fifth point, one of them moved.
func movedBy(m *Measured, i int, by geom.Vec) []geom.Vec {
	pts := every(m.Record.FinishLine, 5)
	pts[i] = pts[i].Add(by)
	return pts
}

// TestRedrawIsAWholeRun holds readings about a moved finish line to those of a
// whole run with the same line as the operator's. The two end their search for
// the axis at other places within its stopping rule, 0.08 degrees and 0.024
// mm, and cut other sections: they may differ by half of what a reading may be
// off at all, of lengths 0.02 mm where that is not said. Those that are not
// made again were made about the axis before, and may differ by all of it.
func TestRedrawIsAWholeRun(t *testing.T) {
	ctx := context.Background()
	_, m := held(t, phantom.Spec{Tooth: "46", Seed: 3, RandomPose: true, Triangles: 60000, Crown: &phantom.Crown{Triangles: 30000, Before: &phantom.Old{}}})
	r, snapped, again, err := m.Redraw(ctx, movedBy(m, 20, m.Record.Frame.Placement.Mul(0.3)))
	if err != nil {
		t.Fatal(err)
	}
	c := *m.c
	c.FinishLine = snapped
	whole, err := Run(ctx, &c, Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range whole.Readings {
		g := valueOf(t, r, w.ID)
		tol := 0.02
		// the contour of the restoration before may be off as a crown's
		if a, ok := allowed[ofCrown(w.ID)]; ok {
			tol = a / 2
			if !slices.Contains(again, w.ID) {
				tol = a
			}
		}
		if w.Measured() != g.Measured() || w.Measured() && math.Abs(w.Value-g.Value) > tol {
			t.Errorf("%s: %.4f about the moved line, %.4f in a whole run (%s%s)", w.ID, g.Value, w.Value, g.Reason, w.Reason)
		}
	}
	if !slices.Contains(again, "crown.fit.marginal_gap.max") || !slices.Contains(again, "existing.contour.overhang.max") || slices.Contains(again, "scan.noise") {
		t.Errorf("made again: %v", again)
	}
}

// TestRedrawFollowsThePoint moves one point of the line up the wall: the
// smallest height of the wall falls by about as much, and the case itself
// stays as it was.
func TestRedrawFollowsThePoint(t *testing.T) {
	_, m := held(t, phantom.Spec{Tooth: "36", Seed: 4, Triangles: 60000})
	was := valueOf(t, m, "finish_line.length").Value
	pts := movedBy(m, 10, geom.Vec{})
	plain, _, _, err := m.Redraw(context.Background(), pts)
	if err != nil {
		t.Fatal(err)
	}
	if got := valueOf(t, plain, "finish_line.length").Value; math.Abs(got-was) > 0.1 {
		t.Errorf("redrawn as traced: length %.3f, want %.3f", got, was)
	}
	up := m.Record.Frame.Placement
	in := m.Record.Frame.Origin.Sub(pts[10]).Reject(up).Unit()
	pts[10] = pts[10].Add(up.Mul(0.6)).Add(in.Mul(0.6)) // across the ledge onto the wall
	r, snapped, _, err := m.Redraw(context.Background(), pts)
	if err != nil {
		t.Fatal(err)
	}
	if d := snapped[10].Sub(m.Record.FinishLine[50]).Norm(); d < 0.3 {
		t.Fatalf("the point moved by %.2f mm only", d)
	}
	a, b := valueOf(t, plain, "finish_line.width.min").Value, valueOf(t, r, "finish_line.width.min").Value
	if b > a-0.2 {
		t.Errorf("least width %.2f with a point on the wall, %.2f before", b, a)
	}
	if got := valueOf(t, m, "finish_line.length").Value; got != was {
		t.Errorf("the case itself changed: length %.4f, was %.4f", got, was)
	}
}

// BenchmarkRedraw moves one point of the finish line of a case whose scan has
// 200,000 facets and makes the dependent readings again. Beside the time it
// reports the processor time, since other work may share the machine.
func BenchmarkRedraw(b *testing.B) {
	for _, k := range []struct {
		name  string
		crown *phantom.Crown
	}{{"preparation", nil}, {"crown", &phantom.Crown{Triangles: 100000}}} {
		b.Run(k.name, func(b *testing.B) {
			_, m := held(b, phantom.Spec{Tooth: "46", Seed: 1, RandomPose: true, Shuffled: true, Float32: true, Noise: 0.006, Triangles: 200000, Crown: k.crown})
			b.ReportAllocs()
			begun := processor(b)
			for i := 0; b.Loop(); i++ {
				if _, _, _, err := m.Redraw(context.Background(), movedBy(m, i%72, m.Record.Frame.Placement.Mul(0.2))); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64((processor(b)-begun).Microseconds())/1000/float64(b.N), "cpu-ms/op")
		})
	}
}

// processor is the processor time this program has used.
func processor(b *testing.B) time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		b.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
