package align

import (
	"context"
	"math"

	"crownassay/internal/par"
)

// descriptor says what the surface looks like around a sample, whatever the
// pose: three histograms of the angles between its normal, its neighbours'
// normals and the lines to them, smoothed over the neighbours.
// Source: R. B. Rusu, N. Blodow, M. Beetz, Fast point feature histograms (FPFH)
// for 3D registration, IEEE International Conference on Robotics and
// Automation 2009, 3212-3217. Here the angles are binned by their cosines and
// by a ratio instead of an arc tangent, so that no trigonometry decides.
type descriptor [3 * bins]float32

// bins is the number of bins of each histogram, 11 as in the paper.
const bins = 11

// fewAround is the number of neighbours below which a sample has no
// descriptor.
const fewAround = 8

// otherSide is the cosine between normals below which a neighbour lies on the
// other side of a thin wall, which the other surface need not show.
const otherSide = -0.3

// descriptors returns the descriptor of every sample over the grid's radius;
// ok is false where too little surface lies around it.
func descriptors(ctx context.Context, g *grid) (out []descriptor, ok []bool, err error) {
	n := len(g.samples)
	simple := make([]descriptor, n)
	err = par.Do(ctx, n, 256, func(lo, hi int) {
		var near []int32
		for i := lo; i < hi; i++ {
			near = g.around(g.samples[i].p, near)
			simple[i] = simpleHistogram(g.samples, i, near)
		}
	})
	if err != nil {
		return nil, nil, err
	}
	out, ok = make([]descriptor, n), make([]bool, n)
	err = par.Do(ctx, n, 256, func(lo, hi int) {
		var near []int32
		for i := lo; i < hi; i++ {
			near = g.around(g.samples[i].p, near)
			out[i] = smoothed(g, simple, i, near)
			ok[i] = len(near) >= fewAround
		}
	})
	return out, ok, err
}

// simpleHistogram counts the angles between sample i and its neighbours.
func simpleHistogram(s []sample, i int, near []int32) descriptor {
	var h descriptor
	for _, j := range near {
		if int(j) == i || s[j].n.Dot(s[i].n) < otherSide {
			continue
		}
		a, b, c := pairAngles(&s[i], &s[j])
		h[binOf(a)]++
		h[bins+binOf(b)]++
		h[2*bins+binOf(c)]++
	}
	return h.scaled()
}

// pairAngles returns the three numbers of a pair of samples, each in -1 to 1:
// the cosines of the neighbour's normal and of the line to it, and a measure
// that grows with the angle of the neighbour's normal about the line.
func pairAngles(s, t *sample) (alpha, phi, theta float64) {
	d := t.p.Sub(s.p).Unit()
	v := d.Cross(s.n).Unit()
	w := s.n.Cross(v)
	alpha, phi = v.Dot(t.n), s.n.Dot(d)
	return alpha, phi, turnMeasure(w.Dot(t.n), s.n.Dot(t.n))
}

// turnMeasure maps the direction (x, y) to -1 to 1 as its angle from +x does
// to -pi to pi.
func turnMeasure(y, x float64) float64 {
	n := math.Abs(x) + math.Abs(y)
	if n == 0 {
		return 0
	}
	t := (1 - x/n) / 2
	return math.Copysign(t, y)
}

func binOf(x float64) int { return max(0, min(bins-1, int((x+1)/2*bins))) }

// smoothed adds the neighbours' histograms, each by the inverse of its
// distance.
func smoothed(g *grid, simple []descriptor, i int, near []int32) descriptor {
	h := descriptor{}
	for _, j := range near {
		if int(j) == i || g.samples[j].n.Dot(g.samples[i].n) < otherSide {
			continue
		}
		w := float32(1 / max(g.samples[i].p.Dist(g.samples[j].p), 1e-9))
		for k := range h {
			h[k] += float32(w * simple[j][k])
		}
	}
	h = h.scaled()
	for k := range h {
		h[k] += simple[i][k]
	}
	return h
}

// scaled returns the histograms with a sum of 100 each, as in the paper.
func (h descriptor) scaled() descriptor {
	for k := 0; k < len(h); k += bins {
		s := float32(0)
		for _, x := range h[k : k+bins] {
			s += x
		}
		if s == 0 {
			continue
		}
		for i := k; i < k+bins; i++ {
			h[i] *= 100 / s
		}
	}
	return h
}

// distSq is the squared distance of two descriptors.
func (h *descriptor) distSq(o *descriptor) float32 {
	s := float32(0)
	for k := range h {
		d := h[k] - o[k]
		s += float32(d * d)
	}
	return s
}
