package measure

import "math"

// How the margin edge of a crown is seen in a section.
const (
	edgeWindow  = 0.12 // mm to either side over which a turn is taken: more than a facet of a scan
	edgeFine    = 0.02 // mm to either side: tells the two corners of a narrow rim apart
	edgeTurn    = 35.0 // degrees that the outline turns at an edge at least
	cornerShare = 0.5  // of the sharpest turn that the first edge coming down the cameo has
	edgeStray   = 0.03 // mm: an edge farther from those around it may be the scan's noise
	strayAround = 5    // sections to either side that tell
	edgeBand    = 1.0  // mm along the outline from its lowest point in which edges are looked for
)

// marginEdge returns the index of the margin edge on the outline of a closed
// shell that runs from the axis over the cameo and back through the cavity;
// -1 where it shows none. It is the first sharp corner coming down the cameo
// to the lowest point: with a rim between cameo and intaglio, its outer one.
func (u *run) marginEdge() int {
	arc := u.arcs()
	low := 0
	for i, p := range u.p {
		if p.z < u.p[low].z {
			low = i
		}
	}
	if low == 0 || low == len(u.p)-1 {
		return -1
	}
	turns := make([]float64, len(u.p))
	most := 0.0
	for i := range u.p {
		if math.Abs(arc[i]-arc[low]) <= edgeBand {
			turns[i] = u.turnAt(arc, i, edgeWindow)
			most = math.Max(most, turns[i])
		}
	}
	if most < edgeTurn {
		return -1
	}
	for i := range u.p {
		if turns[i] >= math.Max(edgeTurn, cornerShare*most) && peak(turns, arc, i, edgeWindow) {
			return u.firstCorner(arc, i)
		}
	}
	return -1
}

// edgeNear returns the index of the edge within edgeStray of where the outline
// comes nearest to a place; -1 where that is far from it or shows no edge of its
// own, against that at point than.
func (u *run) edgeNear(place flat, than int) int {
	arc := u.arcs()
	at := 0
	for i, p := range u.p {
		if p.dist(place) < u.p[at].dist(place) {
			at = i
		}
	}
	if u.p[at].dist(place) > edgeStray {
		return -1
	}
	turns := make([]float64, len(u.p))
	best, most := -1, math.Max(edgeTurn, cornerShare*u.turnAt(arc, than, edgeWindow))
	for i := range u.p {
		d := math.Abs(arc[i] - arc[at])
		if d > 2*edgeStray {
			continue
		}
		if turns[i] = u.turnAt(arc, i, edgeWindow); d <= edgeStray && turns[i] > most {
			best, most = i, turns[i]
		}
	}
	if best < 0 || !peak(turns, arc, best, edgeStray) {
		return -1 // on the way to another edge
	}
	return best
}

// peak reports whether no turn within a distance is larger than that at i.
func peak(turns, arc []float64, i int, within float64) bool {
	for j := i - 1; j >= 0 && arc[i]-arc[j] <= within; j-- {
		if turns[j] > turns[i] {
			return false
		}
	}
	for j := i + 1; j < len(arc) && arc[j]-arc[i] <= within; j++ {
		if turns[j] > turns[i] {
			return false
		}
	}
	return true
}

// firstCorner looks closer at an edge: where a narrow rim has two corners, the
// first that turns a good part of the whole is taken.
func (u *run) firstCorner(arc []float64, at int) int {
	whole := u.turnAt(arc, at, edgeWindow)
	for i := range u.p {
		if math.Abs(arc[i]-arc[at]) > edgeWindow {
			continue
		}
		if t := u.turnAt(arc, i, edgeFine); t >= math.Max(edgeTurn, cornerShare/2*whole) && t >= u.nearTurn(arc, i) {
			return i
		}
	}
	return at
}

// nearTurn is the largest fine turn within edgeFine of point i.
func (u *run) nearTurn(arc []float64, i int) float64 {
	most := 0.0
	for j := range u.p {
		if math.Abs(arc[j]-arc[i]) <= edgeFine {
			most = math.Max(most, u.turnAt(arc, j, edgeFine))
		}
	}
	return most
}

// turnAt is by how many degrees the outline turns to the right, as it does at
// a convex edge, between the chords of length w before and after point i.
func (u *run) turnAt(arc []float64, i int, w float64) float64 {
	before, _ := u.at(arc, arc[i]-w)
	after, _ := u.at(arc, arc[i]+w)
	a, b := u.p[i].sub(before), after.sub(u.p[i])
	return -math.Atan2(a.cross(b), a.dot(b)) * 180 / math.Pi
}
