package reading

import (
	"slices"

	"crownassay/unit"
)

const (
	one = unit.One
	mm  = unit.Millimetre
	mm2 = unit.SquareMillimetre
	deg = unit.Degree
	pct = unit.Percent
	nwt = unit.Newton
)

// Sensitivities of values that are no plain length, for walls and bases of
// ordinary size. A reading that knows its own size brings a better one.
const (
	// overWall: the fitted half of a 4 mm wall is 2 mm long; one end off by
	// 1 mm turns it by 1 radian in 2.
	overWall = 57.3 / 2
	// overBase: a change of height by 1 mm changes half of arcsin(H/B) by
	// 57.3 / (2 sqrt(B^2 - H^2)) degrees, with B 10 mm and H 3 mm.
	overBase = 3.0
	// ofRatio: height over a base of 8 mm.
	ofRatio = 1.0 / 8
	// ofWalls: a wall moved outward by 1 mm all round grows by 2 pi times its
	// height of 4 mm.
	ofWalls = 25.0
	// ofArc: an undercut 5 mm long gains 5 mm^2 a millimetre.
	ofArc = 5.0
)

// Measurands is the table of everything that is read, in the order of the
// visit. The ids and definitions are a contract: rows are added, never renamed.
var Measurands = slices.Concat(preparationRows, existingRows, crownRows, deviationRows, asMade(crownRows), seatedRows)

// preparationRows are the readings of the scan and the preparation.
var preparationRows = []Measurand{
	{"scan.holes", Preparation, one, "Holes in the scan", AtMost, 0, false, 0, false,
		"The number of border loops of the prepared surface that lie wholly in the region from 1.5 mm below the finish " +
			"line upward. The area of the largest hole is given in the note."},
	{"scan.spacing", Preparation, mm, "Spacing of scan points", NoLimit, 3, false, 0, false,
		"The median length of the edges of the prepared surface within 0.5 mm of the finish line."},
	{"scan.noise", Preparation, mm, "Scan noise", AtMost, 3, false, 0, false,
		"The robust root mean square distance of the vertices of the preparation from a quadric surface that is fitted to " +
			"the vertices within 0.3 mm of each."},
	{"scan.bite.overlap", Preparation, mm, "Overlap of the bite", AtMost, 3, false, 1, true,
		"The deepest penetration of the prepared arch into the opposing one anywhere outside the preparation. Teeth do not " +
			"pass through one another: what is read here is how far the bite registration is off."},
	{"scan.bite.contacts", Preparation, one, "Contacts in the bite", AtLeast, 0, false, 0, false,
		"The number of separate areas in which the signed distance from the prepared arch, outside the preparation, to the " +
			"opposing arch is at most 0.05 mm. The note says how many lie in front of the preparation and how many behind it."},
	{"finish_line.length", Preparation, mm, "Length of the finish line", NoLimit, 1, false, 6.3, false,
		"The length of the closed finish line."},
	{"finish_line.legible", Preparation, pct, "Legible finish line", AtLeast, 0, true, 0, false,
		"The share of the circumference, in sections of one degree, in which the finish line is legible. The place is the " +
			"middle of the longest illegible arc; the note gives its length. The profile is 100 where the finish line is legible " +
			"and 0 where it is not."},
	{"finish_line.width.min", Preparation, mm, "Least width of the finish line", AtLeast, 2, true, 1, false,
		"In each section the width is the distance, square to the placement axis, from the finish line point to the straight " +
			"line of the axial wall extended down to that point's height. The reading is the robust minimum over all sections."},
	{"finish_line.width.mean", Preparation, mm, "Mean width of the finish line", NoLimit, 2, true, 1, false,
		"The mean over all sections of the width that finish_line.width.min defines."},
	{"finish_line.roughness", Preparation, mm, "Roughness of the finish line", AtMost, 3, false, 1, false,
		"The root mean square distance between the finish line and the same line smoothed over 1 mm of its length."},
	{"finish_line.neighbour.mesial", Preparation, mm, "Space to the mesial neighbour", AtLeast, 2, false, 1, false,
		"The shortest distance from the finish line to the surface of the neighbouring tooth on the mesial side."},
	{"finish_line.neighbour.distal", Preparation, mm, "Space to the distal neighbour", AtLeast, 2, false, 1, false,
		"The shortest distance from the finish line to the surface of the neighbouring tooth on the distal side."},
	{"preparation.convergence.mesiodistal", Preparation, deg, "Mesiodistal convergence", Within, 1, false, overWall, false,
		"The sum of the inclinations of the mesial and the distal wall to the placement axis, in the sections at azimuth 0 " +
			"and 180. The inclination of each wall is the median over its section and five sections to either side."},
	{"preparation.convergence.buccolingual", Preparation, deg, "Buccolingual convergence", Within, 1, false, overWall, false,
		"The sum of the inclinations of the buccal and the lingual wall to the placement axis, in the sections at azimuth 90 " +
			"and 270. The inclination of each wall is the median over its section and five sections to either side."},
	{"preparation.convergence.mean", Preparation, deg, "Mean convergence", Within, 1, true, overWall, false,
		"The mean over all pairs of opposite sections of the sum of the two walls' inclinations to the placement axis: the " +
			"total occlusal convergence. The profile gives the sum for each section and the one opposite."},
	{"preparation.height.min", Preparation, mm, "Least height of the walls", AtLeast, 2, true, 1, false,
		"In each section the height is measured along the placement axis from the finish line to the occlusoaxial line angle. " +
			"The reading is the robust minimum over all sections."},
	{"preparation.height_to_base", Preparation, one, "Height to base", AtLeast, 2, false, ofRatio, false,
		"The mean height of the buccal and the lingual wall divided by the distance between the finish line points that face " +
			"one another, in the buccolingual sections."},
	{"preparation.undercut.depth", Preparation, mm, "Undercut", AtMost, 3, true, 1, false,
		"In each section the undercut is how much nearer to the axis, square to it, a lower point of the axial wall lies than a " +
			"higher one. The reading is the largest over all sections and is 0 where there is no undercut."},
	{"preparation.undercut.area", Preparation, mm2, "Undercut area", NoLimit, 2, false, ofArc, false,
		"The area of the axial wall that faces away from the placement axis by more than 0.5 degrees."},
	{"preparation.placement.window", Preparation, deg, "Play of the path of placement", AtLeast, 1, false, overWall, false,
		"The robust smallest angle between the placement axis and any part of the axial wall: how far the path may tip before " +
			"an undercut appears. It is negative when no path is free of undercut."},
	{"preparation.resistance.share", Preparation, pct, "Wall that resists tipping", NoLimit, 0, true, 0, false,
		"A crown that tips turns about a tangent to the finish line at some azimuth. Of the half of the axial wall opposite that " +
			"azimuth, the share is taken whose surface blocks this motion. The profile gives it for each azimuth of the hinge, " +
			"the reading is the smallest."},
	{"preparation.resistance.limit", Preparation, deg, "Limiting taper for resistance", AtLeast, 1, true, overBase, false,
		"From the height H and base B of each pair of opposite sections the limiting average taper is computed, the inclination " +
			"of one wall at which just half of the wall still resists tipping: half of arcsin(H/B), and 45 where H is B or more (Parker). The reading is that " +
			"of the worst pair, the one in which the limit least exceeds the mean inclination of the pair's own two walls, which " +
			"is what it is compared with."},
	{"preparation.retention.area", Preparation, mm2, "Area of the axial walls", NoLimit, 1, false, ofWalls, false,
		"The area of the axial walls, from the inner end of the finish line to the occlusoaxial line angle."},
	{"preparation.line_angle.radius", Preparation, mm, "Sharpest line angle", AtLeast, 2, false, 1, false,
		"The smallest radius of the convex edges of the preparation above the finish line, as a robust minimum over the " +
			"surface."},
	{"preparation.clearance.occlusal", Preparation, mm, "Occlusal clearance", AtLeast, 2, false, 1, true,
		"The robust minimum, over the occlusal surface of the preparation, of the shortest distance to the opposing surface. " +
			"On premolars and molars the same is given for each occlusal zone: functional cusps, other cusps and fossa."},
	{"preparation.reduction.occlusal", Preparation, mm, "Occlusal reduction", AtLeast, 2, false, 1, true,
		"The robust minimum, over the occlusal surface of the preparation, of the distance to the surface as it was before. An " +
			"old restoration that was too full makes this flattering: the clearance decides."},
	{"preparation.reduction.axial", Preparation, mm, "Axial reduction", AtLeast, 2, true, 1, true,
		"The robust minimum, over the axial walls, of the distance to the surface as it was before. An old restoration that was " +
			"too full makes this flattering."},
	{"preparation.room", Preparation, mm, "Room for the material", AtLeast, 2, false, 1, true,
		"The robust minimum, over the occlusal surface of the preparation, of the distance to the opposing surface less the " +
			"cement space less the least thickness of the chosen material. Below zero the material would be too thin there."},
	{"preparation.ferrule", Preparation, mm, "Ferrule", AtLeast, 2, true, 1, false,
		"The height along the placement axis of sound tooth above the finish line, up to the border of a build-up that the " +
			"operator has marked. Without a marked border it is unmeasured."},
	{"finish_line.depth", Preparation, mm, "Depth in the sulcus", NoLimit, 2, true, 1, false,
		"Along the placement axis, how far the finish line lies below (positive) or above (negative) the crest of the gingiva, " +
			"for each azimuth at which gingiva was scanned."},
}
