package phantom

import "math"

// toolLeft fills the deepest material that a ball of the tool's tip radius
// leaves in the cavity, over all sections of the formula. Each section is
// opened by a circle: exact on a body of revolution, and within a few
// hundredths of the value where the line angle runs askew.
func (r *restoration) toolLeft(f *findings) {
	const turns = 90
	most, at, place := 0.0, 0.0, point2{}
	for i := range turns {
		a := 2 * math.Pi * float64(i) / turns
		if d, p := r.in.left(a, r.spec.Tool); d > most {
			most, at, place = d, a, p
		}
	}
	f.put("tool.left", most, spin(at, place))
}

// left opens the section at azimuth a by a circle of the given radius and
// returns the deepest rest and where it is.
func (i *intaglio) left(a, radius float64) (float64, point2) {
	line := i.outlineOf(a)
	centres := openCentres(line, radius)
	deepest, at := 0.0, point2{}
	for _, q := range line {
		best := math.Inf(1)
		for _, c := range centres {
			best = math.Min(best, math.Hypot(c.r-q.r, c.z-q.z)-radius)
		}
		if best > deepest {
			deepest, at = best, q
		}
	}
	return deepest, at
}

// outlineOf samples the cavity's profile from the middle to the end of the
// wall, finely about the line angle.
func (i *intaglio) outlineOf(a float64) []point2 {
	const coarse, fine = 120, 240
	lo, hi := i.prep.from[segLine], i.prep.from[segWall]
	var out []point2
	put := func(from, to float64, n int) {
		for k := range n {
			out = append(out, i.profile(a, from+(to-from)*(float64(k)+0.5)/float64(n)))
		}
	}
	put(0, lo, coarse)
	put(lo, hi, fine)
	put(hi, i.prep.from[segFillet], coarse)
	return out
}

// openCentres lists the centres of circles that touch the outline from the
// cavity's side and cut it nowhere.
func openCentres(line []point2, radius float64) []point2 {
	const slack = 1e-6 // mm; what a chord's sag may cost is below it
	var out []point2
	for k := 1; k < len(line)-1; k++ {
		d := line[k+1].from(line[k-1])
		c := line[k].add(point2{-d.z, d.r}, -radius)
		if clear(line, c, radius-slack) {
			out = append(out, c)
		}
	}
	return out
}

func clear(line []point2, c point2, radius float64) bool {
	for _, q := range line {
		if math.Hypot(q.r-c.r, q.z-c.z) < radius {
			return false
		}
	}
	return true
}
