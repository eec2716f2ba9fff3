package measure

import (
	"context"
	"fmt"
	"math"

	"crownassay/reading"
	"crownassay/unit"
)

// The formula of the radial crack from the cementation surface of a flat layer
// on a softer support, P = B s t^2 / log10(C Ec/Es): Lawn et al. 2002, J Mater
// Res 17:3019 and 2004, Biomaterials 25:2885 (form read, constants from
// memory; C = 0.94 and a later B = 1.35 are printed too).
const (
	crackB = 2.0 // B, without unit: 1.35 would lower every load by a third
	crackC = 1.0 // C, without unit
	// dentinModulus is Es, GPa (Zhang & Kelly 2017, Dent Clin N Am 61:797,
	// read). On a softer core the crown breaks at less.
	dentinModulus = 18.0
	// leastMismatch is the smallest Ec/Es for which the formula holds: at less
	// its logarithm runs to zero and the load to infinity.
	leastMismatch = 3.0
	// crackSpread is the relative standard uncertainty of the formula: 15.1 N
	// measured where it gives 12.7 (Lawn, Deng, Lloyd et al. 2002, J Dent Res
	// 81:433, read), (15.1 - 12.7) / 15.1.
	crackSpread = 0.16
)

// RadialLoad returns the load, N, that starts a radial crack from the
// cementation surface of a flat layer of thickness t, mm, flexural strength s,
// MPa, and modulus ec, GPa, on a support of modulus es, GPa. It holds for one
// load on a dry layer: an upper bound. ok is false outside the formula's
// range.
func RadialLoad(t, s, ec, es float64) (p float64, ok bool) {
	if !(t >= 0) || !(s > 0) || !(es > 0) || !(ec/es >= leastMismatch) {
		return 0, false
	}
	return crackB * s * t * t / math.Log10(crackC*ec/es), true
}

// biteForce is a published bite force, N, with its spread where one is given.
type biteForce struct {
	who          string
	mean, spread float64
}

// bites are bite forces to compare a load with: Calderon et al. 2006, J Appl
// Oral Sci 14:448, on the first molar; Braun et al. 1995, Angle Orthod 65:367,
// both sides together (both read).
var bites = []biteForce{{"women", 425, 0}, {"men", 587, 0}, {"both sides together", 738, 209}}

// Strength makes the reading of the load that cracks the crown from inside.
func (c *Crown) Strength(ctx context.Context) ([]reading.Reading, error) {
	const id = "crown.strength.radial"
	if c.Open {
		return []reading.Reading{unmeasured(id, outerOnly)}, nil
	}
	s := &c.Settings
	if s.Modulus <= 0 || s.Strength <= 0 {
		return []reading.Reading{unmeasured(id, "the limits table has no modulus and strength for "+named(s.Material))}, nil
	}
	if _, ok := RadialLoad(1, s.Strength, s.Modulus, dentinModulus); !ok {
		return []reading.Reading{unmeasured(id, fmt.Sprintf("%s is only %.1f times as stiff as dentin; the formula holds from %.0f times on",
			named(s.Material), s.Modulus/dentinModulus, leastMismatch))}, nil
	}
	if err := c.thicknesses(ctx); err != nil {
		return nil, err
	}
	thin, ok := c.occlusal.least()
	if !ok {
		return []reading.Reading{unmeasured(id, "the crown has hardly any occlusal surface")}, nil
	}
	return []reading.Reading{c.radial(id, thin.value, c.placeOf(c.occlusal.spots[thin.i].point))}, nil
}

func named(material string) string {
	if material == "" {
		return "this material"
	}
	return material
}

// radial makes the reading from the least thickness.
func (c *Crown) radial(id reading.ID, t float64, at *reading.Place) reading.Reading {
	s := &c.Settings
	p, _ := RadialLoad(t, s.Strength, s.Modulus, dentinModulus)
	unitLoad, _ := RadialLoad(1, s.Strength, s.Modulus, dentinModulus) // the load goes with t^2
	parts := []reading.Part{{Name: "the formula", Standard: crackSpread * p}}
	for _, q := range c.designParts() {
		parts = append(parts, reading.Part{Name: q.Name, Standard: 2 * unitLoad * t * q.Standard})
	}
	return reading.Reading{ID: id, Value: p, At: at, Parts: parts,
		Subs: []reading.Sub{{Name: "thickness there", Value: t, Unit: unit.Millimetre, At: at}},
		Note: fmt.Sprintf("%s, %.0f MPa, is %.2f mm thick there; %s. An upper bound for one load on a dry flat layer on dentin: "+
			"chewing in water breaks a crown at less", named(s.Material), s.Strength, t, besideBites(p))}
}

// besideBites compares a load with the published bite forces.
func besideBites(p float64) string {
	most := ""
	for _, b := range bites {
		if p >= b.mean {
			most = b.words()
		}
	}
	if most == "" {
		return "even " + bites[0].words() + " bite harder"
	}
	last := bites[len(bites)-1]
	if p >= last.mean {
		return "more than the bite of " + most
	}
	for _, b := range bites {
		if p < b.mean {
			return "more than the bite of " + most + ", less than that of " + b.words()
		}
	}
	return ""
}

func (b biteForce) words() string {
	if b.spread > 0 {
		return fmt.Sprintf("%s (%.0f +- %.0f N)", b.who, b.mean, b.spread)
	}
	return fmt.Sprintf("%s (%.0f N)", b.who, b.mean)
}
