package phantom

import (
	"math"

	"crownassay/geom"
)

// ContactTruth is what is known of one contact beside its distance.
type ContactTruth struct {
	Area       float64      `json:"area"`        // of the outer surface at or below 0, mm^2
	BelowRidge float64      `json:"below_ridge"` // of the closest place below the crown's marginal ridge, along the axis
	Patches    int          `json:"patches"`     // separate areas at or below 0
	Places     [][3]float64 `json:"places,omitempty"`
}

// contacts fills the smallest signed distances to the teeth around.
func (f *findings) contacts(r *restoration, out *CrownTruth) {
	out.Contacts = map[string]ContactTruth{}
	for i, id := range []string{"contact.mesial", "contact.distal"} {
		if r.sides[i] == nil {
			continue
		}
		w := proximalWindow
		w.azimuth = math.Pi * float64(i)
		out.Contacts[id] = f.contact(r, id, r.sides[i], w)
	}
	out.Contacts["contact.occlusal"] = f.contact(r, "contact.occlusal", r.bite, occlusalWindow)
}

func (f *findings) contact(r *restoration, id string, teeth *target, w window) ContactTruth {
	at, d := r.out.least(teeth, &f.m.target.frame, w)
	p := r.out.at(at.a, at.q)
	f.put(id, d, p)
	c := f.patches(teeth, w)
	if w.half < math.Pi {
		side := int(math.Round(w.azimuth / math.Pi))
		if z := f.ridge[side]; !math.IsNaN(z) {
			c.BelowRidge = z - f.sections[0].in2(p).z
		}
	}
	return c
}

// patchTurns and patchSteps make the grid that contact areas are counted on.
const (
	patchTurns = 240
	patchSteps = 160
)

// patches counts the separate areas of the window at or below a signed
// distance of 0. Cells of the grid that share a side belong together.
func (f *findings) patches(teeth *target, w window) ContactTruth {
	da, ds := 2*w.half/patchTurns, (w.to-w.from)/patchSteps
	round := w.half >= math.Pi
	touching := make([]bool, patchTurns*patchSteps)
	area := make([]float64, len(touching))
	for i := range touching {
		a, s := w.azimuth-w.half+da*(float64(i/patchSteps)+0.5), w.from+ds*(float64(i%patchSteps)+0.5)
		p := f.out.at(a, s)
		if teeth.about(f.m.target.frame.toArch(p)) > 0 {
			continue
		}
		touching[i] = true
		x := f.out.at(a+da/2, s).Sub(f.out.at(a-da/2, s))
		y := f.out.at(a, s+ds/2).Sub(f.out.at(a, s-ds/2))
		area[i] = x.Cross(y).Norm()
	}
	var c ContactTruth
	for i := range touching {
		if !touching[i] {
			continue
		}
		cells := flood(touching, i, round)
		sum, middle := 0.0, geom.Vec{}
		for _, k := range cells {
			sum += area[k]
			a, s := w.azimuth-w.half+da*(float64(k/patchSteps)+0.5), w.from+ds*(float64(k%patchSteps)+0.5)
			middle = middle.Add(f.out.at(a, s).Mul(area[k]))
		}
		c.Area += sum
		c.Patches++
		c.Places = append(c.Places, triple(f.m.toFile(middle.Mul(1/sum))))
	}
	return c
}

// flood takes the cells joined to i out of the grid and returns them.
func flood(on []bool, i int, round bool) []int {
	out := []int{i}
	on[i] = false
	put := func(turn, step int) {
		if round {
			turn = (turn + patchTurns) % patchTurns
		}
		if turn < 0 || turn >= patchTurns || step < 0 || step >= patchSteps {
			return
		}
		if k := turn*patchSteps + step; on[k] {
			on[k] = false
			out = append(out, k)
		}
	}
	for n := 0; n < len(out); n++ {
		t, s := out[n]/patchSteps, out[n]%patchSteps
		put(t-1, s)
		put(t+1, s)
		put(t, s-1)
		put(t, s+1)
	}
	return out
}
