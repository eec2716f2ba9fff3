package measure

import (
	"context"
	"fmt"
	"math"
	"strings"

	"crownassay/finishline"
	"crownassay/geom"
)

// Where a sprue may sit on the cameo. Lengths mm; common practice.
const (
	sprueRadius = 1.0 // of the sprue: its middle keeps this and more from what must stay as milled
	sprueSpace  = 0.5 // room for grinding it off beside margin and contacts
	sprueTouch  = 0.1 // nearer than this to another tooth the surface is a contact
	sprueStep   = 0.2 // along the profile between places that are tried
	leastArc    = 5   // degrees: shorter arcs are not named
)

// sprueRoom is where on the cameo a sprue may sit: per section a range of
// heights, NaN where there is none, and the reach of the surface there.
type sprueRoom struct {
	low, high, r []float64
	edge         []float64 // height of the crown margin
}

// sprueSpan looks for places on the axial cameo that are away from the margin
// and from all contacts.
func (c *Crown) sprueSpan(ctx context.Context) (*sprueRoom, error) {
	touch, err := c.contactPoints(ctx)
	if err != nil {
		return nil, err
	}
	n := finishline.Sections
	room := &sprueRoom{make([]float64, n), make([]float64, n), make([]float64, n), bridged(c.EdgeZ)}
	_, angle := c.along(func(w *finishline.Wall) (r, z float64) { return w.EdgeR, w.EdgeZ })
	const away = sprueRadius + sprueSpace
	for k := range n {
		room.low[k], room.high[k] = math.NaN(), math.NaN()
		for _, p := range c.axialProfile(k) {
			if p.z < room.edge[k]+away || p.z > angle[k] || nearAny(c.Frame.At(float64(k), p.r, p.z), touch, away) {
				continue
			}
			room.r[k] = p.r
			room.low[k] = math.Min(orElse(room.low[k], p.z), p.z)
			room.high[k] = math.Max(orElse(room.high[k], p.z), p.z)
		}
	}
	return room, nil
}

func orElse(x, otherwise float64) float64 {
	if math.IsNaN(x) {
		return otherwise
	}
	return x
}

// axialProfile returns points of the cameo of section k, sprueStep apart, from
// the margin edge up.
func (c *Crown) axialProfile(k int) []flat {
	u := &c.cameo[k]
	if len(u.p) < 2 {
		return nil
	}
	arc := u.arcs()
	var out []flat
	for s := arc[len(arc)-1]; s > 0; s -= sprueStep {
		p, _ := u.at(arc, s)
		out = append(out, p)
	}
	return out
}

// contactPoints returns the points of the cameo profiles that touch other teeth.
func (c *Crown) contactPoints(ctx context.Context) ([]geom.Vec, error) {
	var pts []geom.Vec
	for k := range finishline.Sections {
		for _, p := range c.axialProfile(k) {
			pts = append(pts, c.Frame.At(float64(k), p.r, p.z))
		}
	}
	others := []*Surface{c.Opposing}
	if c.Mesial {
		others = append(others, c.neighbourSurface(0), c.neighbourSurface(180))
	}
	var out []geom.Vec
	for _, s := range others {
		if s == nil {
			continue
		}
		hits := newSigned(len(pts))
		if err := s.Tree.SignedAll(ctx, pts, sprueRadius, hits); err != nil {
			return nil, err
		}
		for i, h := range hits {
			if h.Facet >= 0 && h.Dist <= sprueTouch {
				out = append(out, pts[i])
			}
		}
	}
	return out, nil
}

func nearAny(p geom.Vec, to []geom.Vec, d float64) bool {
	for _, q := range to {
		if p.DistSq(q) < d*d {
			return true
		}
	}
	return false
}

func (s *sprueRoom) may(azimuth int) bool { return !math.IsNaN(s.low[azimuth]) }

func (s *sprueRoom) middle(azimuth int) float64 { return (s.low[azimuth] + s.high[azimuth]) / 2 }

func (s *sprueRoom) any() bool { return lowest(s.low) >= 0 }

// words names the arcs in which a sprue may sit.
func (s *sprueRoom) words(named bool) string {
	arcs := s.arcs()
	if len(arcs) == 0 {
		return "No place on the axial surface keeps a sprue away from both margin and contacts"
	}
	var w []string
	for _, a := range arcs {
		low, high := math.Inf(1), math.Inf(-1)
		for k := a[0]; k <= a[1]; k++ {
			i := wrap(k)
			low = math.Min(low, s.low[i]-s.edge[i])
			high = math.Max(high, s.high[i]-s.edge[i])
		}
		w = append(w, fmt.Sprintf("azimuth %d to %d, %.1f to %.1f mm above the margin", wrap(a[0]), wrap(a[1]), low, high))
	}
	out := "The sprue may sit at " + strings.Join(w, "; or ")
	if !named {
		out += " (azimuth 0 is arbitrary: the mesial direction is not known)"
	}
	return out
}

// arcs returns the first and last section of each run of places; the last may
// lie beyond a full turn.
func (s *sprueRoom) arcs() [][2]int {
	n := len(s.low)
	start := 0
	for start < n && s.may(start) {
		start++
	}
	if start == n {
		return [][2]int{{0, n - 1}}
	}
	var out [][2]int
	from := -1
	for i := start; i <= start+n; i++ {
		switch on := s.may(wrap(i)); {
		case on && from < 0:
			from = i
		case !on && from >= 0:
			if i-from >= leastArc {
				out = append(out, [2]int{from, i - 1})
			}
			from = -1
		}
	}
	return out
}
