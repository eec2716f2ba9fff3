// Command bench times the geometry kernel on files that programs in other
// languages can be timed on too, and sets the figures side by side.
//
//	go run ./bench kernel --data DIR [--threads 1] [--reps 3] [--tasks LIST]
//	go run ./bench table [--cpu] FILE
//
// kernel prints one JSON object a line for every task: read, build, closest,
// signed, rays, sections, register. table reads such lines, its own and others', from
// FILE ("-" for standard input), and prints medians and ratios. bench/peers.sh
// does both, round by round.
//
// DIR holds the surface b.stl (binary STL) and, little-endian float64,
// q_near_b.bin and q_near_b_morton.bin (points x y z within 0.5 mm of it, in no
// order and along a Morton curve), rays_b.bin (origin x y z, direction x y z),
// and q_near_b_sgn.bin (a byte a point of q_near_b.bin: 1 inside, 0 outside);
// a.stl is only read. c.stl, for register, is a noisy copy of a part of b.stl
// with other facets, moved by the 4 x 4 matrix of truth.txt.
package main
