package main

import (
	"context"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"strings"

	"crownassay/bvh"
	"crownassay/geom"
	"crownassay/internal/par"
	"crownassay/mesh"
	"crownassay/meshio"
)

// kernel is a run of tasks on one folder of data.
type kernel struct {
	dir                  string
	threads, reps, round int
	mesh                 *mesh.Mesh
	tree                 *bvh.Tree
}

type task struct {
	name string
	run  func(*kernel) error
}

func tasks() []task {
	return []task{
		{"read", (*kernel).read},
		{"build", (*kernel).build},
		{"closest", (*kernel).closest},
		{"signed", (*kernel).signed},
		{"rays", (*kernel).rays},
		{"sections", (*kernel).sections},
		{"register", (*kernel).register},
	}
}

func runKernel(args []string) error {
	var k kernel
	var list string
	fs := flag.NewFlagSet("kernel", flag.ContinueOnError)
	fs.StringVar(&k.dir, "data", "data", "folder of the data files")
	fs.IntVar(&k.threads, "threads", 1, "threads to use")
	fs.IntVar(&k.reps, "reps", 3, "repeats of each task")
	fs.IntVar(&k.round, "round", 0, "number of the round, passed on")
	fs.StringVar(&list, "tasks", "read,build,closest,signed,rays,sections,register", "tasks, with commas between")
	if err := fs.Parse(args); err != nil {
		return err
	}
	par.Workers = k.threads
	runtime.GOMAXPROCS(k.threads) // the collector too
	if err := k.load(); err != nil {
		return err
	}
	for _, t := range tasks() {
		if strings.Contains(","+list+",", ","+t.name+",") {
			if err := t.run(&k); err != nil {
				return err
			}
		}
	}
	return nil
}

func (k *kernel) path(name string) string { return filepath.Join(k.dir, name) }

func (k *kernel) load() error {
	f, err := meshio.Read(k.path("b.stl"))
	if err != nil {
		return fmt.Errorf("load the surface: %w", err)
	}
	k.mesh, k.tree = f.Mesh, bvh.New(f.Mesh)
	return nil
}

func (k *kernel) figure(task, set string, n int) figure {
	return figure{Task: task, Peer: "crownassay", Set: set, Round: k.round, Threads: k.threads, N: n}
}

// read reads and welds the larger file.
func (k *kernel) read() error {
	return k.figure("read", "a", 1).time(k.reps, func() error {
		_, err := meshio.Read(k.path("a.stl"))
		return err
	})
}

// build builds the tree, and all that the first nearest point adds to it.
func (k *kernel) build() error {
	return k.figure("build", "b", 1).time(k.reps, func() error {
		bvh.New(k.mesh).Closest(geom.Vec{}, math.Inf(1))
		return nil
	})
}

func (k *kernel) closest() error {
	for _, set := range []string{"near_b_morton", "near_b"} {
		pts, err := readPoints(k.path("q_" + set + ".bin"))
		if err != nil {
			return err
		}
		out := make([]bvh.Hit, len(pts))
		err = k.figure("closest", set, len(pts)).time(k.reps, func() error {
			return k.tree.ClosestAll(context.Background(), pts, math.Inf(1), out)
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// signed times signed distances and refuses wrong signs farther than 5 um from
// the surface, where the facets and the formula behind them agree.
func (k *kernel) signed() error {
	pts, err := readPoints(k.path("q_near_b.bin"))
	if err != nil {
		return err
	}
	inside, err := os.ReadFile(k.path("q_near_b_sgn.bin"))
	if err != nil {
		return fmt.Errorf("read signs: %w", err)
	}
	out := make([]bvh.SignedHit, len(pts))
	err = k.figure("signed", "near_b", len(pts)).time(k.reps, func() error {
		return k.tree.SignedAll(context.Background(), pts, math.Inf(1), out)
	})
	for i := 0; err == nil && i < min(len(inside), len(out)); i++ {
		if d := out[i].Dist; math.Abs(d) > 0.005 && (d < 0) != (inside[i] == 1) {
			err = fmt.Errorf("check signs: point %d has distance %g, but is it inside: %v", i, d, inside[i] == 1)
		}
	}
	return err
}

func (k *kernel) rays() error {
	x, err := readFloats(k.path("rays_b.bin"))
	if err != nil {
		return err
	}
	rays := make([]bvh.Ray, len(x)/6)
	for i := range rays {
		y := x[6*i : 6*i+6]
		rays[i] = bvh.Ray{Origin: geom.V(y[0], y[1], y[2]), Dir: geom.V(y[3], y[4], y[5])}
	}
	out := make([]bvh.RayHit, len(rays))
	return k.figure("rays", "b", len(rays)).time(k.reps, func() error {
		return k.tree.RayAll(context.Background(), rays, math.Inf(1), out)
	})
}

// sections cuts by 360 planes through the z axis, the upper half of the tooth.
func (k *kernel) sections() error {
	planes, out := make([]geom.Plane, 360), make([][]bvh.Polyline, 360)
	for i := range planes {
		s, c := math.Sincos(float64(i) * math.Pi / 180)
		planes[i] = geom.PlaneThrough(geom.V(0.01, 0.02, 0.03), geom.V(c, s, 0))
	}
	return k.figure("sections", "b", len(planes)).time(k.reps, func() error {
		return k.tree.SectionAll(context.Background(), planes, geom.V(0, 0, 3), 5, out)
	})
}
