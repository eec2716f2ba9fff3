package phantom

import (
	"context"
	"math"

	"crownassay/geom"
)

// The zones of the occlusal surface.
const (
	zoneFunctional = iota
	zoneOther
	zoneFossa
	zones
)

var zoneNames = [zones]string{"functional cusps", "other cusps", "fossa"}

// fossaShare is how far the fossa reaches from the axis to the line angle.
const fossaShare = 0.45

// occlusal samples the occlusal surface above the line angle.
func (m *model) occlusal(ctx context.Context, s *survey, steps int) ([]probe, error) {
	grid, err := s.grid(ctx, steps, func(c *cut, t float64) float64 { return max(1e-4, c.uLine*t) })
	var out []probe
	for i, g := range grid {
		h := grid[(i+1)%len(grid)]
		for k := range steps {
			n := h[k+1].Sub(g[k]).Cross(g[k+1].Sub(h[k])).Mul(0.5)
			p := g[k].Add(g[k+1]).Add(h[k]).Add(h[k+1]).Mul(0.25)
			out = append(out, probe{p: m.target.frame.toArch(p), area: n.Norm(), zone: m.zone(s, i, p)})
		}
	}
	return out, err
}

// zone tells fossa, functional and other cusps apart.
func (m *model) zone(s *survey, i int, p geom.Vec) int {
	d := p.Sub(s.origin)
	if d.Reject(s.axis).Norm() < fossaShare*s.cuts[i].line.r {
		return zoneFossa
	}
	if (i < 180) == (m.target.crown.functional > 0) {
		return zoneFunctional
	}
	return zoneOther
}

// clearance measures the room to the opposing crowns.
func (m *model) clearance(ctx context.Context, s *survey, steps int) ([]probe, error) {
	probes, err := m.occlusal(ctx, s, steps)
	if err != nil {
		return nil, err
	}
	t := newTarget(m.opposing.within(m.target.frame.o, 13))
	return probes, t.measure(ctx, probes, zones)
}

// clearanceTruth fills the clearance readings.
func (m *model) clearanceTruth(ctx context.Context, s *survey, t *Truth) error {
	probes, err := m.clearance(ctx, s, 64)
	if err != nil {
		return err
	}
	v, p := robustMin(probes, func(int) bool { return true })
	t.Readings["preparation.clearance.occlusal"] = v
	t.Places["preparation.clearance.occlusal"] = triple(m.target.frame.toTooth(p))
	for z, name := range zoneNames {
		t.Zones[name], p = robustMin(probes, func(k int) bool { return k == z })
		t.Places["preparation.clearance.occlusal/"+name] = triple(m.target.frame.toTooth(p))
	}
	return nil
}

// neighbourTruth fills the distances from the finish line to the crowns
// before and behind.
func (m *model) neighbourTruth(s *survey, t *Truth) {
	for _, n := range m.prepared.teeth {
		id := ""
		switch {
		case n.slot.next() == m.target.slot:
			id = "finish_line.neighbour.mesial"
		case m.target.slot.next() == n.slot:
			id = "finish_line.neighbour.distal"
		default:
			continue
		}
		v, p := m.nearestNeighbour(s, n)
		t.Readings[id], t.Places[id] = v, triple(p)
	}
}

// nearestNeighbour returns the shortest distance from the finish line to the
// crown of n and the finish line's point, in the tooth's frame.
func (m *model) nearestNeighbour(s *survey, n *tooth) (float64, geom.Vec) {
	t := newTarget([]*tooth{n})
	best, where := math.Inf(1), geom.Vec{}
	coarse := make([]float64, len(s.finish))
	start := make([]int32, len(s.finish))
	low := math.Inf(1)
	for i, p := range s.finish {
		start[i], coarse[i] = t.coarse(m.target.frame.toArch(p))
		low = math.Min(low, coarse[i])
	}
	for i, p := range s.finish {
		if coarse[i] > low+0.02 {
			continue
		}
		if _, d := t.fine(m.target.frame.toArch(p), start[i]); d < best {
			best, where = d, p
		}
	}
	return best, where
}
