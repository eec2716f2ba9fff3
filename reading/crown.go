package reading

import (
	"slices"
	"strings"
)

// overFirst is the change of an emergence angle, degrees, for each millimetre
// that one end of the millimetre it is fitted to is off, the other being right.
const overFirst = 57.3

// crownRows are the readings of a crown as designed. Readings between the
// design and the scan that it was made on have no part of the scanner in
// their uncertainty: the two are off together. The crown as made is scanned
// anew, and its readings have.
var crownRows = []Measurand{
	{"crown.thickness.occlusal", Design, mm, "Occlusal thickness", AtLeast, 2, true, 0, false,
		"The robust minimum, over the cameo surface above the height of the preparation's occlusoaxial line angle, of the " +
			"shortest distance to the intaglio."},
	{"crown.thickness.axial", Design, mm, "Axial thickness", AtLeast, 2, true, 0, false,
		"The robust minimum, over the cameo surface from 0.5 mm above the crown margin to the height of the line angle, of the " +
			"shortest distance to the intaglio. It includes the ledge of the margin, so it is 0.5 mm at most where the ledge is " +
			"as thick as the wall."},
	{"crown.fit.marginal_gap.mean", Design, mm, "Mean marginal gap", NoLimit, 3, true, 0, false,
		"The mean over all sections of the marginal gap: the shortest distance from the finish line point to the intaglio (Holmes)."},
	{"crown.fit.marginal_gap.max", Design, mm, "Largest marginal gap", AtMost, 3, true, 0, false,
		"The robust maximum over all sections of the marginal gap: the shortest distance from the finish line point to the " +
			"intaglio (Holmes)."},
	{"crown.fit.discrepancy.max", Design, mm, "Absolute marginal discrepancy", NoLimit, 3, true, 0, false,
		"The robust maximum over all sections of the distance from the finish line point to the margin edge of the crown " +
			"(Holmes). Its horizontal and vertical parts at that place are given beside it."},
	{"crown.fit.internal.mean", Design, mm, "Mean internal gap", NoLimit, 3, false, 0, false,
		"The mean, by area, of the distance from the intaglio to the preparation more than 1 mm from the margin edge."},
	{"crown.fit.interference", Design, mm, "Interference inside the crown", AtMost, 3, false, 0, false,
		"The deepest penetration of the intaglio into the preparation; 0 where there is none."},
	{"crown.contour.overhang.max", Design, mm, "Overhang", AtMost, 3, true, 0, false,
		"In each section the horizontal part of the way from the finish line point to the margin edge, positive where the " +
			"crown reaches beyond the tooth. The reading is the robust maximum over all sections."},
	{"crown.contour.overhang.min", Design, mm, "Shortness of the margin", AtLeast, 3, true, 0, false,
		"The robust minimum over all sections of what crown.contour.overhang.max defines: negative where the crown is short of " +
			"the finish line."},
	{"crown.contour.emergence.max", Design, deg, "Emergence angle", NoLimit, 1, true, overFirst, false,
		"In each section the angle between the placement axis and the straight line fitted to the first 1.0 mm of cameo " +
			"profile from the margin edge, outward positive. The reading is the robust maximum over all sections."},
	{"crown.contour.bulge.max", Design, mm, "Bulge", NoLimit, 2, true, 0, false,
		"In each section the farthest reach of the cameo profile beyond the margin edge, square to the placement axis; its " +
			"height is given beside it. The reading is the robust maximum over all sections."},
	{"crown.contour.against_mirror", Design, mm, "Beyond the mirrored tooth", NoLimit, 2, false, 1, false,
		"The largest outward deviation of the cameo surface from the same tooth of the other side, mirrored and registered on " +
			"the neighbours."},
	{"crown.contact.mesial", Design, mm, "Mesial contact", Within, 3, false, 0, false,
		"The smallest signed distance from the cameo surface to the mesial neighbour, negative where the crown would penetrate " +
			"it. The area at or below zero and its height below the marginal ridge are given beside it."},
	{"crown.contact.distal", Design, mm, "Distal contact", Within, 3, false, 0, false,
		"The smallest signed distance from the cameo surface to the distal neighbour, negative where the crown would penetrate " +
			"it. The area at or below zero and its height below the marginal ridge are given beside it."},
	{"crown.contact.occlusal", Design, mm, "Occlusal contact", Within, 3, false, 0, false,
		"The smallest signed distance from the cameo surface to the opposing surface, negative where the crown is high. Number, " +
			"areas and places of the separate areas within 0.05 mm are given beside it."},
	{"crown.ridge.step.mesial", Design, mm, "Step to the mesial marginal ridge", Within, 2, false, 0, false,
		"How much higher along the placement axis the crown's mesial marginal ridge stands than the neighbour's distal one. A " +
			"ridge is the crest of the outlines before they fall to the other tooth; its height is that of the lowest point of the " +
			"crest between the cusps beside it."},
	{"crown.ridge.step.distal", Design, mm, "Step to the distal marginal ridge", Within, 2, false, 0, false,
		"How much higher along the placement axis the crown's distal marginal ridge stands than the neighbour's mesial one."},
	{"crown.strength.radial", Design, nwt, "Load to a crack from inside", AtLeast, 0, false, 0, false,
		"The smallest load that starts a radial crack at the cementation surface anywhere over the occlusal area, by the formula " +
			"for a flat layer on a softer support: P = B s t^2 / log10(C Ec/Es), with the strength s and the modulus Ec of the " +
			"material, the modulus Es of dentin, B = 2.0, C = 1 and the thickness t as in crown.thickness.occlusal. It is for one load on a " +
			"dry flat layer and so an upper bound: chewing in water breaks a crown at less. With Ec/Es below 3 the formula does not hold " +
			"and the reading is unmeasured."},
	{"crown.tool.left", Design, mm, "Material the tool leaves", AtMost, 3, false, 0, false,
		"The deepest material that a ball of the tool's tip radius must leave in the cavity: the largest distance from the intaglio " +
			"to the opening of the cavity by the ball, that is to all the places the ball can fill without cutting into the crown. The " +
			"limit is what the cement space takes up: material thicker than that holds the crown off its seat."},
	{"crown.blank", Design, mm, "Spare length in the block", AtLeast, 2, false, 0, false,
		"The smallest length to spare in the block in any of its three directions, with the crown's placement axis along the block's " +
			"height and the crown turned about that axis as suits it best. The crown is taken 1/(1-s) times as large where the material shrinks by " +
			"a share s when it is sintered after milling; the sprue's allowance is taken off the block's length."},
	{"crown.seating.clearance", Design, mm, "Clearance on the way to the seat", AtLeast, 3, false, 1, false,
		"The crown moves along the placement axis from 8 mm above to its seat. The reading is the smallest signed distance on the way between " +
			"its intaglio and the axial walls of the preparation and between its cameo surface and the neighbouring teeth, negative where it would have to " +
			"pass through them. Single points count no more than noise makes them: on the way the nearest is left out, and of many one in " +
			"150. Where it is found and at which height above the seat is given with it."},
}

// existingRows are the readings of the restoration that was there before.
var existingRows = []Measurand{
	{"existing.contour.overhang.max", Design, mm, "Old overhang", NoLimit, 2, true, 1, false,
		"The overhang of the restoration before, as crown.contour.overhang.max defines it, at the new finish line. Its margin " +
			"edge is where the surfaces above and below the sharpest convex turn near the finish line would meet; where the surface shows " +
			"no such turn, its place at the height of the finish line is taken."},
	{"existing.contour.emergence.max", Design, deg, "Old emergence angle", NoLimit, 1, true, overFirst, false,
		"The emergence angle of the restoration before, as crown.contour.emergence.max defines it, at the new finish line."},
	{"existing.contour.bulge.max", Design, mm, "Old bulge", NoLimit, 2, true, 1, false,
		"The bulge of the restoration before, as crown.contour.bulge.max defines it, at the new finish line."},
}

// deviationRows compare the crown as made with its design.
var deviationRows = []Measurand{
	{"finished.deviation.rms", TryIn, mm, "Deviation from the design", NoLimit, 3, false, 1, false,
		"The root mean square of the signed distances from the finished surface, registered to the design, to the design."},
	{"finished.deviation.p95", TryIn, mm, "Deviation of 95 % of the surface", NoLimit, 3, false, 1, false,
		"The distance from the design that 95 % of the finished surface, by area, stays within."},
}

// overMargin is the change of a tilt, degrees, for each millimetre that one side
// of a margin 8 mm wide is off.
const overMargin = 57.3 / 8

// seatedRows are the readings of the crown on the tooth.
var seatedRows = []Measurand{
	{"seated.rise", TryIn, mm, "Rise of the seated crown", NoLimit, 3, false, 1, false,
		"How much higher along the placement axis the crown's margin edge sits, in the mean, than it was designed to: by the motion that takes the " +
			"crown's outer surface to the scan of the arch with the crown on, registered to the prepared arch on the neighbouring teeth."},
	{"seated.tilt", TryIn, deg, "Tilt of the seated crown", NoLimit, 2, false, overMargin, false,
		"The angle by which the same motion tips the crown's placement axis. The place is where the margin rises most."},
	{"seated.contact.mesial", TryIn, mm, "Mesial contact, seated", Within, 3, false, 1, false,
		"The reading crown.contact.mesial, made with the crown, as made or else as designed, in the place where the scan of the arch with it on shows it: " +
			"its own surface against the neighbour of the prepared arch, since a scan does not see between teeth that touch."},
	{"seated.contact.distal", TryIn, mm, "Distal contact, seated", Within, 3, false, 1, false,
		"The reading crown.contact.distal, made with the crown, as made or else as designed, in the place where the scan of the arch with it on shows it: " +
			"its own surface against the neighbour of the prepared arch, since a scan does not see between teeth that touch."},
	{"seated.contact.occlusal", TryIn, mm, "Occlusal contact, seated", Within, 3, false, 1, false,
		"The reading crown.contact.occlusal, made on the scan of the arch with the crown on, where it lies within 0.15 mm of the crown in its place."},
}

// The first words of the ids of readings of a crown as designed and as made.
const (
	designed = "crown."
	made     = "finished."
)

// AsMade returns the id of a crown's reading for the crown as made.
func AsMade(id ID) ID { return made + ID(strings.TrimPrefix(string(id), designed)) }

// AsDesigned returns the id of the design's reading for that of the crown as
// made; other ids stay.
func AsDesigned(id ID) ID {
	if rest, ok := strings.CutPrefix(string(id), made); ok {
		if _, known := Find(ID(designed + rest)); known {
			return ID(designed + rest)
		}
	}
	return id
}

// beforeMilling are the readings that a milled crown has no more use for.
var beforeMilling = []ID{"crown.tool.left", "crown.blank"}

// asMade are the same readings of the crown as made.
func asMade(rows []Measurand) []Measurand {
	var out []Measurand
	for _, m := range rows {
		if slices.Contains(beforeMilling, m.ID) {
			continue
		}
		m.Definition = "The reading " + string(m.ID) + ", made on the crown as it was made."
		m.ID, m.HoldPoint = AsMade(m.ID), TryIn
		m.Sensitivity = max(m.Sensitivity, 1)
		out = append(out, m)
	}
	return out
}
