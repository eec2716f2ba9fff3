package main

import (
	"context"
	"fmt"
	"math"
	"os"

	"crownassay/align"
	"crownassay/bvh"
	"crownassay/geom"
	"crownassay/mesh"
	"crownassay/meshio"
)

// register times the registration of c.stl, a noisy moved partial copy, to
// b.stl: set c from where it lies, as other programs do it, and set c_any with
// no start, from a pose 60 degrees and 20 mm farther off. Trees, normals and all
// else are made anew each time.
func (k *kernel) register() error {
	f, err := meshio.Read(k.path("c.stl"))
	if err != nil {
		return fmt.Errorf("load the copy: %w", err)
	}
	truth, err := readMotion(k.path("truth.txt"))
	if err != nil {
		return err
	}
	start := geom.Still()
	off := geom.Rigid{R: geom.RotationAbout(geom.V(1, 2, 2).Mul(1.0/3), math.Pi/3), T: geom.V(12, 16, 0)}
	for _, c := range []struct {
		set    string
		moving *mesh.Mesh
		truth  geom.Rigid // takes b to where the copy lies
		o      align.Options
	}{
		{"c", f.Mesh, truth, align.Options{Start: &start}},
		{"c_any", f.Mesh.Move(off), off.After(truth), align.Options{}},
	} {
		var got align.Result
		fig := k.figure("register", c.set, 1)
		err := timed(&fig, k.reps, func() (err error) {
			got, err = align.RegisterTo(context.Background(), c.moving, bvh.New(k.mesh), c.o)
			return err
		})
		if err != nil {
			return err
		}
		fig.Error = missed(got.Motion.After(c.truth), k.mesh)
		if err := fig.print(); err != nil {
			return err
		}
	}
	return nil
}

// missed is the root mean square distance between the vertices of m and where
// they come to lie by a motion that should be none, um.
func missed(g geom.Rigid, m *mesh.Mesh) float64 {
	s := 0.0
	for _, v := range m.V {
		s += v.DistSq(g.Apply(v))
	}
	return 1e3 * math.Sqrt(s/float64(len(m.V)))
}

// readMotion reads a 4 x 4 matrix, rows first.
func readMotion(path string) (geom.Rigid, error) {
	f, err := os.Open(path)
	if err != nil {
		return geom.Rigid{}, fmt.Errorf("open the true motion: %w", err)
	}
	defer f.Close()
	var x [16]float64
	for i := range x {
		if _, err := fmt.Fscan(f, &x[i]); err != nil {
			return geom.Rigid{}, fmt.Errorf("read the true motion, number %d: %w", i+1, err)
		}
	}
	return geom.Rigid{
		R: geom.Mat3{{x[0], x[1], x[2]}, {x[4], x[5], x[6]}, {x[8], x[9], x[10]}},
		T: geom.V(x[3], x[7], x[11]),
	}, nil
}
