package finishline

import (
	"context"
	"math"
	"slices"

	"crownassay/align"
	"crownassay/geom"
	"crownassay/internal/par"
)

// Wall is the axial wall of one section, from the finish line's inner end up
// to the occlusoaxial line angle. Ok is false, with Why, where a section
// shows none.
type Wall struct {
	Line, Inner, Edge int     // samples of the profile: finish line, inner end, line angle
	InnerR, InnerZ    float64 // inner end
	EdgeR, EdgeZ      float64 // occlusoaxial line angle
	Taper             float64 // degrees: inclination of the fitted line, converging to the occlusal positive
	A, B              float64 // fitted line r = A + B z
	Ok                bool
	Why               string
	half              int // samples to either side over which inclinations are taken
}

// lineSlope is the inclination to the axis, degrees, at which a wall ends:
// at the occlusoaxial line angle by definition, at the inner end of the
// finish line likewise.
const lineSlope = 45.0

// leastWallSamples is the fewest samples that make a wall: 0.4 mm.
const leastWallSamples = 16

// steepNoise is how many samples to either side the inclination of a wall
// needs for each mm of noise so that noise does not make it pass 45 degrees,
// and steepFacet the share of a long facet edge it needs so that a single
// facet's step does not. Scans with less than 15 um and 0.2 mm need no more
// than tangentHalf.
const (
	steepNoise = 270.0
	steepFacet = 0.5
)

// wallWindow is how many samples to either side of a wall's point its
// inclination is taken over.
func (s Scan) wallWindow() int {
	facet := steepFacet * math.Min(s.LongEdge, mostCutOff) / Step
	return max(tangentHalf, int(math.Round(math.Max(steepNoise*s.Noise, facet))))
}

// WallOf finds the wall of a profile above the finish line at (r, z).
func WallOf(p *Profile, r, z float64, half int) Wall {
	w := Wall{Line: p.Nearest(r, z), half: half}
	if w.Line < 0 {
		return Wall{Why: "no surface was scanned in this section"}
	}
	if !p.span(&w, z) {
		return w
	}
	w.fitLine(p)
	return w
}

// span finds the ends of the wall. Where noise makes the fillet pass 45
// degrees to and fro, runs too short to be a wall are walked over.
func (p *Profile) span(w *Wall, z float64) bool {
	from := w.Line - w.half - 2
	for {
		if !p.inner(w, z, from) {
			w.Why = "no wall rises above the finish line"
			break
		}
		if !p.edge(w) {
			w.Why = "the wall has no line angle to the occlusal surface"
			break
		}
		if w.Inner-w.Edge >= leastWallSamples {
			w.Why = ""
			return true
		}
		w.Why = "the wall is shorter than 0.4 mm"
		if from = w.Edge - 1; (w.Line-from)*2 > w.Line {
			break
		}
	}
	return false
}

// Nearest returns the sample nearest to (r, z), -1 for an empty profile.
func (p *Profile) Nearest(r, z float64) int {
	best, bestSq := -1, math.Inf(1)
	for i := range p.R {
		d := (p.R[i]-r)*(p.R[i]-r) + (p.Z[i]-z)*(p.Z[i]-z)
		if d < bestSq {
			best, bestSq = i, d
		}
	}
	return best
}

// inner walks in from the finish line to the first sample inclined less than
// 45 degrees to the axis, from sample from on, which lies beyond the turn
// itself.
func (p *Profile) inner(w *Wall, z float64, from int) bool {
	first := w.Line - w.half - 2
	lowest := z - lipAllowed // where the line is bridged, the root beyond the gap is no wall
	for i := from; i > w.half; i-- {
		if p.gapWithin(i, w.half) || p.Z[i] < lowest {
			continue
		}
		s := p.Steep(i, w.half)
		if math.Abs(s) >= lineSlope {
			continue
		}
		w.Inner, w.InnerR, w.InnerZ = i, p.R[i], p.Z[i]
		if i == first { // no ledge: the wall runs out to the finish line
			w.Inner, w.InnerR, w.InnerZ = w.Line, p.R[w.Line], p.Z[w.Line]
		} else {
			p.cross(w.half, i, &w.InnerR, &w.InnerZ)
		}
		return true
	}
	return false
}

// edge walks up from the inner end to the first sample inclined 45 degrees.
func (p *Profile) edge(w *Wall) bool {
	first := w.Inner
	if w.Inner == w.Line {
		first = w.Line - w.half - 2
	}
	for i := first - 1; i >= w.half; i-- {
		if p.Gap[i] {
			continue
		}
		if math.Abs(p.Steep(i, w.half)) >= lineSlope {
			w.Edge, w.EdgeR, w.EdgeZ = i, p.R[i], p.Z[i]
			p.cross(w.half, i, &w.EdgeR, &w.EdgeZ)
			return true
		}
	}
	return false
}

// cross puts (r, z) where the inclination, taken over half samples to either
// side, passes 45 degrees between sample i and the next.
func (p *Profile) cross(half, i int, r, z *float64) {
	j := i + 1
	a, b := math.Abs(p.Steep(i, half)), math.Abs(p.Steep(j, half))
	if a == b || (a-lineSlope)*(b-lineSlope) > 0 {
		return
	}
	t := (lineSlope - a) / (b - a)
	*r, *z = p.R[i]+t*(p.R[j]-p.R[i]), p.Z[i]+t*(p.Z[j]-p.Z[i])
}

// fitLine fits r = A + B z by least squares to the part of the wall between a
// quarter and three quarters of its height.
func (w *Wall) fitLine(p *Profile) {
	h := w.EdgeZ - w.InnerZ
	lo, hi := w.InnerZ+h/4, w.InnerZ+3*h/4
	var n, sz, sr, szz, szr float64
	for i := w.Edge; i <= w.Inner; i++ {
		if z := p.Z[i]; !p.Gap[i] && z >= lo && z <= hi {
			n, sz, sr, szz, szr = n+1, sz+z, sr+p.R[i], szz+z*z, szr+z*p.R[i]
		}
	}
	den := n*szz - sz*sz
	if n < 4 || den < 1e-9 {
		w.Why = "the middle of the wall was not scanned"
		return
	}
	w.B = (n*szr - sz*sr) / den
	w.A = (sr - w.B*sz) / n
	w.Taper = -math.Atan(w.B) * 180 / math.Pi
	w.Ok = true
}

// sectionsTogether is how many sections one processor looks at in one go.
const sectionsTogether = 24

// Walls finds the wall of every section.
func Walls(profiles []Profile, c *Curve, s Scan) []Wall {
	out := make([]Wall, len(profiles))
	par.Do(context.Background(), len(out), sectionsTogether, func(lo, hi int) {
		for k := lo; k < hi; k++ {
			out[k] = WallOf(&profiles[k], c.R[k], c.Z[k], s.wallWindow())
		}
	})
	return out
}

// Patch is one cell of the axial wall: where it is, its outward unit normal
// and its area. Row 0 is at the line angle.
type Patch struct {
	Point, Normal geom.Vec
	Area          float64
	Azimuth       int
}

// Rows is how many patches a section's wall is divided into.
const Rows = 24

// Patches divides the axial wall into cells about the frame, with normals
// taken over some facets to either side (wider on noisy scans), so that a
// facet's own tilt is not seen. Sections without a wall give none.
func Patches(f align.Frame, profiles []Profile, walls []Wall, s Scan) []Patch {
	g := newWallGrid(f, profiles, walls, s)
	rows := make([][]Patch, len(walls))
	par.Do(context.Background(), len(walls), sectionsTogether, func(lo, hi int) {
		for k := lo; k < hi; k++ {
			if !walls[k].Ok {
				continue
			}
			rows[k] = make([]Patch, 0, Rows)
			for j := range Rows {
				if p, ok := g.patch(k, j); ok {
					rows[k] = append(rows[k], p)
				}
			}
		}
	})
	return slices.Concat(rows...)
}

// turn is a turn about the axis.
type turn struct{ sin, cos float64 }

// wallGrid holds smoothed wall points (in space) and downward tangents.
type wallGrid struct {
	frame   align.Frame
	walls   []Wall
	point   [][]geom.Vec
	tangent [][]geom.Vec
	length  []float64 // wall length of a section, mm
	turn    []turn    // by -side to side degrees
	side    int       // degrees to either side for tangents around the tooth
	cutOff  int       // samples of a wall that facets may cut off at a feather edge
}

// Over how much of a wall its tangents are taken, to either side: patchHalf mm,
// or patchFacets facet edges where these are longer, and more on noisy scans.
// Over less, single facets would tip the smallest angle to the walls.
const (
	patchHalf   = 0.2
	patchFacets = 1.5
)

func newWallGrid(f align.Frame, profiles []Profile, walls []Wall, s Scan) *wallGrid {
	n := len(walls)
	g := &wallGrid{frame: f, walls: walls, point: make([][]geom.Vec, n), tangent: make([][]geom.Vec, n), length: make([]float64, n)}
	half := int(math.Round((math.Max(patchHalf, patchFacets*s.Spacing) + math.Min(0.3, 25*s.Noise)) / Step))
	g.side = 4 + int(math.Min(4, 300*s.Noise))
	for d := -g.side; d <= g.side; d++ {
		sn, cs := math.Sincos(float64(d) * math.Pi / 180)
		g.turn = append(g.turn, turn{sn, cs})
	}
	g.cutOff = int(math.Ceil(s.CutOff() / Step))
	for k := range walls {
		if walls[k].Ok {
			g.row(k, &profiles[k], half)
		}
	}
	return g
}

// row samples one section's wall.
func (g *wallGrid) row(k int, p *Profile, half int) {
	w := &g.walls[k]
	d := g.frame.Direction(float64(k))
	span := float64(w.Inner - w.Edge)
	end := w.Inner
	if w.Inner == w.Line {
		end -= g.cutOff
	}
	for j := range Rows {
		x := float64(w.Edge) + span*(float64(j)+0.5)/Rows
		i := int(math.Round(x))
		mid := min(i, end-3)
		h := max(3, min(half, mid-w.Edge, end-mid))
		l, _ := p.fit(mid-h, mid+h+1)
		q := l.at(float64(i))
		g.point[k] = append(g.point[k], g.frame.At(float64(k), q.r, q.z))
		g.tangent[k] = append(g.tangent[k], d.Mul(l.dr).Add(g.frame.Z.Mul(l.dz)).Unit())
	}
	g.length[k] = chainLength(g.point[k])
}

// chainLength is the length of a wall whose rows' middles are given. It goes
// by smoothed points: the profile itself is longer by every step that noise
// makes.
func chainLength(p []geom.Vec) float64 {
	l := 0.0
	for j := 1; j < len(p); j++ {
		l += p[j].Dist(p[j-1])
	}
	return l * float64(len(p)) / float64(len(p)-1)
}

// patch makes the cell at azimuth k, row j.
func (g *wallGrid) patch(k, j int) (Patch, bool) {
	n := len(g.walls)
	var down, around geom.Vec
	var sxx, m float64
	for d := -g.side; d <= g.side; d++ {
		i := (k + d + n) % n
		if !g.walls[i].Ok {
			continue
		}
		down = down.Add(g.turned(g.tangent[i][j], -d))
		around = around.Add(g.point[i][j].Sub(g.point[k][j]).Mul(float64(d)))
		sxx += float64(d * d)
		m++
	}
	if m < float64(g.side) {
		return Patch{}, false
	}
	around = around.Mul(1 / sxx)
	normal := around.Cross(down).Mul(-g.frame.Hand())
	if normal.Dot(g.frame.Direction(float64(k))) < 0 {
		normal = normal.Neg()
	}
	area := around.Cross(down.Unit()).Norm() * g.length[k] / Rows
	return Patch{g.point[k][j], normal.Unit(), area, k}, true
}

// turned turns a direction about the axis by deg degrees of azimuth, so that
// tangents of neighbouring sections can be averaged.
func (g *wallGrid) turned(v geom.Vec, deg int) geom.Vec {
	x, y, z := v.Dot(g.frame.X), v.Dot(g.frame.Y), v.Dot(g.frame.Z)
	s, c := g.turn[deg+g.side].sin, g.turn[deg+g.side].cos
	return g.frame.X.Mul(c*x - s*y).Add(g.frame.Y.Mul(s*x + c*y)).Add(g.frame.Z.Mul(z))
}
