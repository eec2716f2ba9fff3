package align

import (
	"context"
	"math"
	"math/bits"
	"slices"

	"crownassay/geom"
	"crownassay/internal/par"
)

// Which links go together, and how motions come of them. Lengths are in cubes
// of the samples, which miss each other by half a cube.
const (
	linkSlack   = 1.0 // two links' distances may differ by this much
	linkApart   = 3.0 // nearer links tell no direction
	linkAngle   = 0.3 // difference of the cosines between normals and line
	mostSeeds   = 60  // links from which a motion is tried
	crowd       = 20  // links that a motion is made of
	sameMotion  = 3.0 // motions that move the surface alike within this are one
	mostMotions = 12  // motions that are tried on the surfaces
)

// friends holds, for every link, the set of links that can hold under one
// motion with it.
type friends struct {
	words int
	bit   []uint64 // row i is bit[i*words : (i+1)*words]
}

func (f *friends) row(i int) []uint64 { return f.bit[i*f.words : (i+1)*f.words] }

func newFriends(ctx context.Context, links []link, cube float64) (*friends, error) {
	n := len(links)
	f := &friends{words: (n + 63) / 64}
	f.bit = make([]uint64, n*f.words)
	err := par.Do(ctx, n, 16, func(lo, hi int) {
		for i := lo; i < hi; i++ {
			row := f.row(i)
			for j := range links {
				if together(&links[i], &links[j], cube) {
					row[j/64] |= 1 << (j % 64)
				}
			}
		}
	})
	return f, err
}

// together reports whether one motion can hold for both links: the distances
// and the angles between the normals and the line are the same at both ends.
func together(a, b *link, cube float64) bool {
	d, e := b.p.Sub(a.p), b.q.Sub(a.q)
	l, k := d.Norm(), e.Norm()
	if l < linkApart*cube || k < linkApart*cube || math.Abs(l-k) > linkSlack*cube {
		return false
	}
	d, e = d.Mul(1/l), e.Mul(1/k)
	return math.Abs(a.n.Dot(d)-a.m.Dot(e)) < linkAngle && math.Abs(b.n.Dot(d)-b.m.Dot(e)) < linkAngle &&
		math.Abs(a.n.Dot(b.n)-a.m.Dot(b.m)) < linkAngle
}

// common returns how many links are friends of both.
func (f *friends) common(i, j int) int {
	a, b, n := f.row(i), f.row(j), 0
	for k := range a {
		n += bits.OnesCount64(a[k] & b[k])
	}
	return n
}

// bond is a friend of a link and how many friends they share. Wrong links
// agree with a right one by chance, but seldom share its friends.
// Source: Z. Chen, K. Sun, F. Yang, W. Tao, SC2-PCR: a second order spatial
// compatibility for efficient and robust point cloud registration, IEEE/CVF
// Conference on Computer Vision and Pattern Recognition 2022, 13221-13231.
type bond struct{ link, shared int }

// bonds returns the strongest bonds of link i, at most crowd of them.
func (f *friends) bonds(i int) []bond {
	var out []bond
	for w, word := range f.row(i) {
		for ; word != 0; word &= word - 1 {
			j := 64*w + bits.TrailingZeros64(word)
			out = append(out, bond{j, f.common(i, j)})
		}
	}
	slices.SortStableFunc(out, func(a, b bond) int { return b.shared - a.shared })
	return out[:min(len(out), crowd)]
}

// candidate is a motion and how many links hold under it.
type candidate struct {
	motion geom.Rigid
	hold   int
}

// candidates returns the motions that most links agree on, those with the most
// first and none twice.
func candidates(ctx context.Context, links []link, moving []sample, cube float64) ([]candidate, error) {
	f, err := newFriends(ctx, links, cube)
	if err != nil {
		return nil, err
	}
	seeds, crowds, err := f.seeds(ctx)
	if err != nil {
		return nil, err
	}
	var out []candidate
	for _, i := range seeds {
		out = append(out, agreed(links, append(crowds[i], bond{link: i}), cube))
	}
	slices.SortStableFunc(out, func(a, b candidate) int { return b.hold - a.hold })
	return unlike(out, spots(moving), sameMotion*cube), nil
}

// seeds returns the links with the strongest bonds, strongest first, and the
// bonds of all.
func (f *friends) seeds(ctx context.Context) ([]int, [][]bond, error) {
	n := len(f.bit) / max(f.words, 1)
	crowds, strength, order := make([][]bond, n), make([]int, n), make([]int, n)
	err := par.Do(ctx, n, 16, func(lo, hi int) {
		for i := lo; i < hi; i++ {
			crowds[i], order[i] = f.bonds(i), i
			for _, b := range crowds[i] {
				strength[i] += b.shared
			}
		}
	})
	slices.SortStableFunc(order, func(a, b int) int { return strength[b] - strength[a] })
	return order[:min(n, mostSeeds)], crowds, err
}

// agreed makes a motion of a crowd of links, then twice of all links that hold
// under it.
func agreed(links []link, crowd []bond, cube float64) candidate {
	chosen := make([]link, len(crowd))
	for k, b := range crowd {
		chosen[k] = links[b.link]
	}
	c := candidate{}
	for range 3 {
		c.motion = superpose(chosen, linkApart*cube)
		chosen = holding(links, c.motion, 2*linkSlack*cube)
		c.hold = len(chosen)
	}
	return c
}

// holding lists the links whose ends come within slack of each other.
func holding(links []link, g geom.Rigid, slack float64) []link {
	var out []link
	for _, l := range links {
		if g.Apply(l.p).DistSq(l.q) < float64(slack*slack) && g.Turn(l.n).Dot(l.m) > agree {
			out = append(out, l)
		}
	}
	return out
}

// spots are a few places of a surface by which motions are compared.
func spots(s []sample) []geom.Vec {
	const enough = 50 // places over the whole surface tell one motion from another
	return pointsOfSamples(s, enough).p
}

// apartBy is the root mean square distance between the spots under two
// motions.
func apartBy(g, h geom.Rigid, at []geom.Vec) float64 {
	s := 0.0
	for _, p := range at {
		s += g.Apply(p).DistSq(h.Apply(p))
	}
	return math.Sqrt(s / float64(max(len(at), 1)))
}

// unlike leaves out motions that are nearly an earlier one, and all after
// mostMotions.
func unlike(all []candidate, at []geom.Vec, same float64) []candidate {
	var out []candidate
	for _, c := range all {
		known := slices.ContainsFunc(out, func(o candidate) bool { return apartBy(c.motion, o.motion, at) < same })
		if !known && len(out) < mostMotions {
			out = append(out, c)
		}
	}
	return out
}
