package align

import (
	"math"
	"slices"

	"crownassay/geom"
	"crownassay/mesh"
)

// How the plane of symmetry of an arch is looked for. Lengths mm, angles
// degrees.
const (
	mirrorCell    = 1.0  // grid in plan over which an arch is compared with its mirror image
	mirrorTop     = 1.5  // heights of a place and its mirror image that are of one tooth
	crownPart     = 5.0  // below the highest points: teeth and little gingiva
	highShare     = 0.98 // of the cells lie below what counts as the highest: no single tip decides
	mirrorTurn    = 3.0  // step of the plane's direction
	mirrorReach   = 9.0  // of the plane from the middle of the teeth to either side
	mirrorStep    = 0.75 // step of its place
	mirrorFine    = 6.0  // the second search has steps so many times finer
	leastMirrored = 0.5  // share of the teeth that must meet its mirror image
	leastArch     = 28.0 // a full arch is at least so broad and so deep: five teeth in a row are less deep
)

// FindMirror looks for the plane of symmetry of a full arch, seen along up, the
// unit direction to the occlusal. It is good to a millimetre or two: a start
// for a registration. Known is false, with the reason, where only a part of an
// arch was scanned or the arch is not symmetric.
func FindMirror(m *mesh.Mesh, up geom.Vec) (pl geom.Plane, known bool, why string) {
	x := up.Normal()
	p := newPlan(m, Frame{Origin: m.Box().Center(), X: x, Y: up.Cross(x), Z: up})
	if len(p.cells) < 40 {
		return pl, false, "too few teeth were scanned"
	}
	if p.narrowest() < leastArch {
		return pl, false, "only a part of the arch was scanned"
	}
	best := p.search(mirrorLine{}, 90, mirrorReach, mirrorTurn, mirrorStep)
	best = p.search(best, mirrorTurn, mirrorStep, mirrorTurn/mirrorFine, mirrorStep/mirrorFine)
	if best.share < leastMirrored {
		return pl, false, "the two sides of the arch are not alike"
	}
	s, c := math.Sincos(best.turn * math.Pi / 180)
	n := p.frame.X.Mul(c).Add(p.frame.Y.Mul(s))
	return geom.PlaneThrough(p.frame.World(geom.V(p.x, p.y, 0)).Add(n.Mul(best.at)), n), true, ""
}

// plan is the teeth of an arch from above: the highest point over each cell of
// a grid.
type plan struct {
	frame Frame
	cells []cell
	top   map[[2]int]float64 // looked up only
	x, y  float64            // middle of the cells
}

// newPlan keeps the cells that reach as high as teeth do.
func newPlan(m *mesh.Mesh, f Frame) *plan {
	p := &plan{frame: f, top: map[[2]int]float64{}}
	var order [][2]int
	for _, v := range m.V {
		q := f.Local(v)
		k := [2]int{int(math.Floor(q.X / mirrorCell)), int(math.Floor(q.Y / mirrorCell))}
		t, ok := p.top[k]
		if !ok {
			order = append(order, k)
		}
		if !ok || q.Z > t {
			p.top[k] = q.Z
		}
	}
	tops := make([]float64, len(order))
	for i, k := range order {
		tops[i] = p.top[k]
	}
	slices.Sort(tops)
	high := quantile(tops, highShare)
	for _, k := range order {
		t := p.top[k]
		if t < high-crownPart {
			delete(p.top, k)
			continue
		}
		c := cell{(float64(k[0]) + 0.5) * mirrorCell, (float64(k[1]) + 0.5) * mirrorCell, t}
		p.cells = append(p.cells, c)
		p.x, p.y = p.x+c.x, p.y+c.y
	}
	n := math.Max(1, float64(len(p.cells)))
	p.x, p.y = p.x/n, p.y/n
	return p
}

// mirrorLine is a plane of symmetry in plan: the direction of its normal,
// degrees, its distance from the middle of the cells along that, and the share
// of the cells that meet their mirror image.
type mirrorLine struct{ turn, at, share float64 }

// search tries the lines around one in even steps; of lines alike the first.
func (p *plan) search(about mirrorLine, turns, reach, turnStep, step float64) mirrorLine {
	best := mirrorLine{share: -1}
	nt, ns := int(math.Round(turns/turnStep)), int(math.Round(reach/step))
	for i := -nt; i <= nt; i++ {
		for j := -ns; j <= ns; j++ {
			l := mirrorLine{turn: about.turn + float64(i)*turnStep, at: about.at + float64(j)*step}
			if l.share = p.meets(l); l.share > best.share {
				best = l
			}
		}
	}
	return best
}

// meets is the share of the cells whose mirror image holds a cell of like
// height.
func (p *plan) meets(l mirrorLine) float64 {
	s, c := math.Sincos(l.turn * math.Pi / 180)
	n := 0
	for _, q := range p.cells {
		d := 2 * (float64(c*(q.x-p.x)) + float64(s*(q.y-p.y)) - l.at)
		k := [2]int{int(math.Floor((q.x - float64(d*c)) / mirrorCell)), int(math.Floor((q.y - float64(d*s)) / mirrorCell))}
		if t, ok := p.top[k]; ok && math.Abs(t-q.top) < mirrorTop {
			n++
		}
	}
	return float64(n) / float64(len(p.cells))
}

// narrowest is how broad the cells are in the direction in which they are
// least so.
func (p *plan) narrowest() float64 {
	least := math.Inf(1)
	for turn := 0.0; turn < 180; turn += mirrorTurn {
		s, c := math.Sincos(turn * math.Pi / 180)
		lo, hi := math.Inf(1), math.Inf(-1)
		for _, q := range p.cells {
			v := c*q.x + s*q.y
			lo, hi = math.Min(lo, v), math.Max(hi, v)
		}
		least = math.Min(least, hi-lo)
	}
	return least
}
