package measure

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"crownassay/reading"
	"crownassay/unit"
)

// turnStep is the step, degrees, in which the crown is turned about its axis
// in the block. A width changes by less than the crown's size times the turn:
// 20 mm in half of 0.05 degrees make 9 um.
const turnStep = 0.05

// Blank makes the reading of how the crown fits into its block.
func (c *Crown) Blank(ctx context.Context) ([]reading.Reading, error) {
	const id = "crown.blank"
	if len(c.Settings.Blocks) == 0 {
		return []reading.Reading{unmeasured(id, "no size of block is given")}, nil
	}
	size := c.sizes()
	free, err := c.sprueSpan(ctx)
	if err != nil {
		return nil, err
	}
	var f fitting
	for _, b := range c.Settings.Blocks {
		if f = size.in(b, nil); f.spare >= 0 {
			break
		}
	}
	r := reading.Reading{ID: id, Value: f.spare, Parts: c.designParts()}
	r.Note = fmt.Sprintf("%s, %s long, %s wide and %s high, with its length toward azimuth %.0f; the crown takes up %.2f, %.2f and %.2f mm of that",
		f.block.Name, trim(f.block.Length), trim(f.block.Width), trim(f.block.Height), f.azimuth, f.length, f.width, size.height)
	if k := c.Settings.enlargement(); k > 1 {
		r.Note += fmt.Sprintf(", enlarged %.3f times for sintering", k)
	}
	r.Note += "; " + trim(f.block.Sprue) + " mm are kept for the sprue. " + free.words(c.Mesial)
	if g := size.in(f.block, free.may); free.any() && !math.IsInf(g.spare, -1) {
		at := c.placeOf(c.Frame.At(g.azimuth, free.r[wrap(int(g.azimuth))], free.middle(wrap(int(g.azimuth)))))
		r.Subs = []reading.Sub{{Name: "with the sprue on a free place", Value: g.spare, Unit: unit.Millimetre, At: at}}
	}
	return []reading.Reading{r}, nil
}

func trim(x float64) string { return fmt.Sprintf("%.4g", x) }

// sizes are the lengths, mm, that a crown takes up when milled: along the
// placement axis, and square to it for every turnStep of azimuth.
type sizes struct {
	height float64
	width  []float64 // over half a turn
}

// sizes measures the shell, enlarged.
func (c *Crown) sizes() sizes {
	f, k := c.Frame, c.Settings.enlargement()
	lo, hi := math.Inf(1), math.Inf(-1)
	flats := make([]flat, len(c.Shell.Mesh.V))
	for i, v := range c.Shell.Mesh.V {
		q := f.Local(v)
		flats[i] = flat{q.X, q.Y}
		lo, hi = math.Min(lo, q.Z), math.Max(hi, q.Z)
	}
	around := hull(flats)
	s := sizes{height: k * (hi - lo), width: make([]float64, int(math.Round(180/turnStep)))}
	for i := range s.width {
		y, x := math.Sincos(float64(i) * turnStep * math.Pi / 180)
		least, most := math.Inf(1), math.Inf(-1)
		for _, p := range around {
			d := p.dot(flat{x, y})
			least, most = math.Min(least, d), math.Max(most, d)
		}
		s.width[i] = k * (most - least)
	}
	return s
}

// fitting is a crown in a block.
type fitting struct {
	block         Block
	azimuth       float64 // degrees, of the end of the block that holds the sprue
	length, width float64 // mm that the crown takes up
	spare         float64 // mm, the least of the three directions
}

// in turns the crown to where it has most to spare. May says at which azimuths
// the sprue may be; nil allows all. Without one spare is -Inf.
func (s *sizes) in(b Block, may func(azimuth int) bool) fitting {
	n := len(s.width)
	best := fitting{block: b, spare: math.Inf(-1)}
	for i := range 2 * n {
		azimuth := float64(i) * turnStep
		l, w := s.width[i%n], s.width[(i+n/2)%n]
		spare := min(b.Length-b.Sprue-l, b.Width-w, b.Height-s.height)
		if spare > best.spare && (may == nil || may(wrap(int(azimuth)))) {
			best = fitting{b, azimuth, l, w, spare}
		}
	}
	return best
}

// hull returns the convex hull of points (Andrew's monotone chain): the
// coordinates need not be a half plane's.
func hull(p []flat) []flat {
	p = sorted(p)
	if len(p) < 3 {
		return p
	}
	var out []flat
	half := func(at func(i int) flat) {
		first := len(out)
		for i := range p {
			for len(out) > first+1 && out[len(out)-1].sub(out[len(out)-2]).cross(at(i).sub(out[len(out)-1])) <= 0 {
				out = out[:len(out)-1]
			}
			out = append(out, at(i))
		}
		out = out[:len(out)-1]
	}
	half(func(i int) flat { return p[i] })
	half(func(i int) flat { return p[len(p)-1-i] })
	return out
}

// sorted returns a copy of the points by r, then z.
func sorted(p []flat) []flat {
	out := append([]flat(nil), p...)
	slices.SortFunc(out, func(a, b flat) int {
		if d := cmp.Compare(a.r, b.r); d != 0 {
			return d
		}
		return cmp.Compare(a.z, b.z)
	})
	return out
}
