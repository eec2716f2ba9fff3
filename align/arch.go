package align

import (
	"math"

	"crownassay/geom"
	"crownassay/mesh"
)

// Arch is what the teeth around a preparation tell of directions.
type Arch struct {
	Lingual geom.Vec // unit, square to the axis, toward the inner side of the arch
	Along   geom.Vec // unit, along the arch at the preparation, either way
	Sagitta float64  // mm: how far the teeth's curve departs from straight
	Known   bool     // the curve is plain enough to tell the inner side
	Why     string   // why not

	Front      geom.Vec // unit, along the arch toward its front, where FrontKnown
	FrontKnown bool     // the teeth themselves tell, plainly, which way the front of the arch is
	Only       geom.Vec // unit, along the arch, when teeth were scanned on that side only; else zero
}

// How the arch is read. Lengths mm.
const (
	archCell     = 0.75 // grid in plan over which teeth are counted
	aboveGingiva = 1.5  // height above the finish line that only teeth reach
	leastSagitta = 1.6  // flatter curves are within what tooth widths make
	leastSpan    = 18.0 // teeth over a shorter span tell nothing
	frontReach   = 24.0 // how far to either side tooth breadths are compared
	broadest     = 13.0 // a broader slice runs along teeth, not across one
	wideArch     = 200. // degrees of the curve from which both ends of an arch are in the scan
	longerSide   = 1.25 // the front lies on the side with this much more arch
	narrowing    = 0.25 // relative change of breadth over the scan that tells the front plainly
	alongReach   = 17.0 // how far to either side the direction along the arch is taken
	ownReach     = 6.0  // the preparation's own radius in plan, at most
)

// FindArch looks at the teeth of a scan around a frame whose Z is the
// placement axis and whose origin is at the finish line.
func FindArch(m *mesh.Mesh, f Frame) Arch {
	pts := crowns(m, f)
	if len(pts) < 40 {
		return Arch{Why: "too little of the neighbouring teeth was scanned"}
	}
	c, rho, ok := circle(pts)
	if !ok {
		return Arch{Why: "the teeth stand in a straight row"}
	}
	d := math.Hypot(c[0], c[1])
	if d < 1e-9 {
		return Arch{Why: "the teeth do not show a curve"}
	}
	span, sagitta := extent(pts, c, rho)
	in := f.X.Mul(c[0] / d).Add(f.Y.Mul(c[1] / d))
	a := Arch{Sagitta: sagitta, Lingual: in, Along: in.Cross(f.Z)}
	a.turnAlong(pts, f)
	switch {
	case span < leastSpan:
		a.Why = "too little of the arch was scanned to see its curve"
	case sagitta < leastSagitta:
		a.Why = "the teeth stand nearly in a straight row"
	default:
		a.Known = true
		a.findFront(pts, f, c, rho)
	}
	return a
}

// cell is the middle of a cell in plan and the height of the highest vertex
// in it.
type cell struct{ x, y, top float64 }

// crowns returns, in plan, the cells in which something stands higher than
// aboveGingiva over the finish line.
func crowns(m *mesh.Mesh, f Frame) []cell {
	type index struct{ i, j int }
	seen := map[index]int{}
	var out []cell
	for _, v := range m.V {
		q := f.Local(v)
		if q.Z < aboveGingiva {
			continue
		}
		c := index{int(math.Floor(q.X / archCell)), int(math.Floor(q.Y / archCell))}
		k, ok := seen[c]
		if !ok {
			k = len(out)
			seen[c] = k
			out = append(out, cell{(float64(c.i) + 0.5) * archCell, (float64(c.j) + 0.5) * archCell, q.Z})
		}
		out[k].top = math.Max(out[k].top, q.Z)
	}
	return out
}
